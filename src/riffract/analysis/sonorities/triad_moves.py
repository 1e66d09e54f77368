"""How one major or minor triad goes over into the next: by which note moves, and how far."""

from typing import Literal

from riffract.analysis.pitch_class_set import mask_of, transposed

TriadMove = Literal["parallel", "leading_tone", "relative"]

_MAJOR, _MINOR = mask_of((0, 4, 7)), mask_of((0, 3, 7))


def triad_move(from_mask: int, to_mask: int) -> TriadMove | None:
    """Name the move from one consonant triad to another, if it is one of the three smallest.

    Definition: each of the three keeps two notes and turns a major triad into a minor one or back.
    The *parallel* P keeps root and fifth; L, the *leading-tone* exchange, moves the root of a major
    triad down a semitone; the *relative* R moves the fifth of a major triad up a whole tone. Each
    undoes itself.

    Args:
        from_mask: pitch classes of the first.
        to_mask: pitch classes of the second.

    Returns:
        The move; `None` for any other one, and for anything that is no major or minor triad: an
        interval or a chord of the drone has no such name.

    Source: Cohn, Music Analysis 15/1 (1996), 9-40, from memory.

    >>> c, c_minor, e_minor, a_minor = (mask_of(x) for x in ((0, 4, 7), (0, 3, 7), (4, 7, 11),
    ...                                                      (9, 0, 4)))
    >>> triad_move(c, c_minor), triad_move(c, e_minor), triad_move(c, a_minor)
    ('parallel', 'leading_tone', 'relative')
    """
    major, minor = _root(from_mask, _MAJOR), _root(to_mask, _MINOR)
    if major is None or minor is None:
        major, minor = _root(to_mask, _MAJOR), _root(from_mask, _MINOR)
    if major is None or minor is None:
        return None
    moves: dict[int, TriadMove] = {0: "parallel", 4: "leading_tone", 9: "relative"}
    return moves.get((minor - major) % 12)


def _root(mask: int, shape: int) -> int | None:
    return next((n for n in range(12) if transposed(shape, n) == mask), None)
