"""What an essay says about itself, on everything that goes out."""

from dataclasses import dataclass


@dataclass(frozen=True, slots=True, kw_only=True)
class About:
    """Title, makers and rights.

    Attributes:
        title: of the essay.
        subtitle: one line; may be empty.
        credits: who made what, a line each.
        rights: what others may do with it, and whose the music is; may be empty.
    """

    title: str
    subtitle: str = ""
    credits: tuple[str, ...] = ()
    rights: str = ""
