"""Where a mirror fails, note by note: what was expected, what is there, how far off it is."""

from collections.abc import Callable, Iterable, Mapping, Sequence
from fractions import Fraction
from typing import Final

from riffract.analysis.finding import AttackContent, Deviation
from riffract.analysis.mirrors.rows import Item
from riffract.analysis.saying import say
from riffract.analysis.spelling import pitch_spelled
from riffract.analysis.wording import counted, place_in_words, quarters_text, signed
from riffract.music import Passage

MOST_NAMED: Final = 8
"""So many departures are named one by one in words; the answer holds them all."""

Image = Callable[[Item], AttackContent]


def as_it_is(item: Item) -> AttackContent:
    """Give the image of an item that a mirror in time leaves as it is."""
    return item.content


def turned_about(pitch_sum: int) -> Image:
    """Give the image of an item under the inversion that keeps `pitch_sum / 2` in place."""

    def image(item: Item) -> AttackContent:
        return AttackContent(
            pitches=tuple(sorted(pitch_sum - p for p in item.content.pitches)),
            value_quarters=item.content.value_quarters,
        )

    return image


def departures(
    items: Sequence[Item],
    pairs: Sequence[tuple[int, int]],
    *,
    image: Image = as_it_is,
    by_value: bool = False,
    left_alone: Iterable[int] = (),
    right_alone: Iterable[int] = (),
) -> tuple[Deviation, ...]:
    """List where the right limb is not the image of the left one.

    Args:
        items: the row.
        pairs: items that are partners, the left one first; in the order of the right limb.
        image: what an exact mirror makes of an item.
        by_value: whether values are mirrored, and not pitches.
        left_alone: items of the left limb without a partner.
        right_alone: items of the right limb without a partner.

    Returns:
        Departures by time; a note without an answer stands where the next outer partner starts,
        or at its own place if there is none.
    """
    found = [
        _missed(items[right], image(items[left]), by_value=by_value)
        for left, right in pairs
        if (
            _differs_in_value(items[left], items[right])
            if by_value
            else image(items[left]).pitches != items[right].content.pitches
        )
    ]
    found += [
        Deviation(
            at_quarters=_place_of_answer(items, pairs, left),
            expected=image(items[left]),
            found=None,
        )
        for left in left_alone
    ]
    found += [
        Deviation(at_quarters=items[right].start, expected=None, found=items[right].content)
        for right in right_alone
    ]
    return tuple(sorted(found, key=lambda d: d.at_quarters))


def semitones_off(expected: AttackContent, found: AttackContent) -> int | None:
    """Tell by how much all of an attack is higher than expected; `None` if not all alike.

    >>> chord, moved = (AttackContent(pitches=p, value_quarters=Fraction(1)) for p in
    ...                 ((40, 47), (41, 48)))
    >>> semitones_off(chord, moved)
    1
    """
    if len(expected.pitches) != len(found.pitches):
        return None
    shifts = {b - a for a, b in zip(expected.pitches, found.pitches, strict=True)}
    return shifts.pop() if len(shifts) == 1 else None


def departures_text(
    passage: Passage, deviations: Sequence[Deviation], names: Mapping[int, str]
) -> str:
    """Name departures one by one, with bar and beat; `no deviations` where there are none.

    Args:
        passage: they occur in.
        deviations: in order.
        names: of all twelve pitch classes.
    """
    if not deviations:
        return say("no deviations")
    named = [
        f"{place_in_words(passage.place(d.at_quarters))}, {_how(d, names)}"
        for d in deviations[:MOST_NAMED]
    ]
    if len(deviations) > MOST_NAMED:
        named.append(say("{count} more", count=len(deviations) - MOST_NAMED))
    return f"{counted(len(deviations), 'deviation')}: {'; '.join(named)}"


def _differs_in_value(left: Item, right: Item) -> bool:
    """Whether two values differ, or a rest answers a stroke; a dead note is a stroke."""
    is_rest = left.note is None, right.note is None
    return left.content.value_quarters != right.content.value_quarters or is_rest[0] != is_rest[1]


def _missed(item: Item, expected: AttackContent, *, by_value: bool) -> Deviation:
    off = item.content.value_quarters - expected.value_quarters
    return Deviation(
        at_quarters=item.start,
        expected=expected,
        found=item.content,
        semitones_off=None if by_value else semitones_off(expected, item.content),
        quarters_off=off if by_value else None,
    )


def _place_of_answer(
    items: Sequence[Item], pairs: Sequence[tuple[int, int]], left: int
) -> Fraction:
    """Tell where the answer to an item of the left limb belongs: before that of the next one.

    The next one stands further left where time runs backwards, and further right where it does not.
    """
    is_forward = pairs[-1][0] > pairs[0][0]
    later = [right for one, right in pairs if (one > left) == is_forward]
    return items[min(later)].start if later else items[left].start


def _how(deviation: Deviation, names: Mapping[int, str]) -> str:
    expected, found = deviation.expected, deviation.found
    if expected is None or found is None:
        if found is not None:
            return say("{note} added", note=_content_text(found, names))
        missing = "" if expected is None else _content_text(expected, names)
        return say("{note} left out", note=missing)
    if deviation.quarters_off is not None:
        return say("{found} for {expected}", found=_held(found), expected=_held(expected))
    off = "" if deviation.semitones_off is None else f" ({signed(deviation.semitones_off)})"
    there = say(
        "{found} for {expected}",
        found=_content_text(found, names),
        expected=_content_text(expected, names),
    )
    return f"{there}{off}"


def _held(content: AttackContent) -> str:
    held = quarters_text(content.value_quarters)
    return held if content.pitches else say("{length} of rest", length=held)


def _content_text(content: AttackContent, names: Mapping[int, str]) -> str:
    if not content.pitches:
        return say("{length} without pitch", length=quarters_text(content.value_quarters))
    return "+".join(pitch_spelled(p, names) for p in content.pitches)
