"""An idea that comes back changed."""

from dataclasses import dataclass, field
from fractions import Fraction

from riffract.music import Span


@dataclass(frozen=True, slots=True, kw_only=True)
class MotivePlace:
    """Where an idea stands.

    Attributes:
        passage: which passage: 0 the one studied, -1 the last of the earlier ones, -2 the one
            before it, and so on back in time.
        title: that passage's title.
        span: where in it.
        notes: indices of its notes there.
    """

    passage: int
    title: str
    span: Span
    notes: tuple[int, ...]


@dataclass(frozen=True, slots=True, kw_only=True)
class Transform:
    """What was done to an idea.

    Attributes:
        transposition: semitones up, of the first note.
        inversion: whether its intervals are turned upside down.
        retrograde: whether it comes backwards.
        scale: how much longer its times are; 2 for an augmentation.
    """

    transposition: int
    inversion: bool
    retrograde: bool
    scale: Fraction


@dataclass(frozen=True, slots=True, kw_only=True)
class Stage:
    """One occurrence of an idea, on its way.

    Attributes:
        place: where it stands.
        parent: the earlier stage, by its place in the family, that it shares most with; `None` for
            the first, and for one that shares nothing with those before it.
        has: the notes of the idea's home that have a partner here, as indices of the passage
            studied.
        adds: those of them that its parent has not.
        loses: those that its parent has, and this stage has not.
    """

    place: MotivePlace
    parent: int | None
    has: tuple[int, ...]
    adds: tuple[int, ...]
    loses: tuple[int, ...]


@dataclass(frozen=True, slots=True, kw_only=True)
class Family:
    """All occurrences of one idea.

    Attributes:
        number: which idea, from 1.
        stages: where it stands, the earliest first.
        home: which of the stages is the idea as the passage studied first has it.
    """

    number: int
    stages: tuple[Stage, ...]
    home: int


@dataclass(frozen=True, slots=True, kw_only=True)
class Motive:
    """An idea and a return of it.

    Attributes:
        source: where it comes from; the earlier place.
        return_: where it comes back.
        transform: how it is changed.
        inserted: notes of the return that the source has not.
        dropped: notes of the source that the return has not.
        changed: pairs (note of the source, note of the return) whose pitch or length differs from
            what the transform gives.
        goes_on: further statements of a sequence, each moved on like the return from the source.
        is_free: whether most of its times are others, so that only its pitches come back; lengths
            are then not among what is changed.
        family: all occurrences of the idea; `None` before they are put together. It is left out of
            what names a finding, so that a claim still finds it when another passage is added.
        stage: which of the family's stages this finding tells of, beside the home.
        scale_steps: for a sequence, how many steps of the scale each statement is higher than the
            one before; 0 if each is moved by the same interval, which `transform` tells.
        scale: the pitch classes that those steps are counted in; empty if there are none.
    """

    source: MotivePlace
    return_: MotivePlace
    transform: Transform
    inserted: tuple[int, ...]
    dropped: tuple[int, ...]
    changed: tuple[tuple[int, int], ...]
    goes_on: tuple[MotivePlace, ...] = ()
    is_free: bool = False
    family: Family | None = field(default=None, repr=False)
    stage: int = field(default=0, repr=False)
    scale_steps: int = field(default=0, repr=False)
    scale: tuple[int, ...] = field(default=(), repr=False)
