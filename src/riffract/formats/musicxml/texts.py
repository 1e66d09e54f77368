"""Words out of a file, made fit to be shown."""


def tidy_text(text: str | None, longest: int) -> str:
    r"""Tidy spaces, drop characters that cannot be printed, and cut what is too long.

    A title with control characters in it could otherwise command the terminal that shows it.

    >>> tidy_text("  Study\n in\x9b31m Steel ", 12)
    'Study in31m '
    """
    spaced = " ".join((text or "")[: 4 * longest].split())
    return "".join(filter(str.isprintable, spaced))[:longest]
