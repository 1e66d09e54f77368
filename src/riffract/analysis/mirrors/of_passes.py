"""The form read backwards: riffs, their departures, their lengths, or sections in reverse order.

A form has few items, so it is asked for exact mirrors only, and the longest one counts. Its null
model is small enough to be counted out: every order of the same items.
"""

from collections.abc import Hashable, Iterable, Sequence
from dataclasses import dataclass, replace
from fractions import Fraction
from string import ascii_uppercase
from typing import Final

import numpy as np

from riffract.analysis.attacks import Attack
from riffract.analysis.description import numbered
from riffract.analysis.finding import Finding, Mirror, MirrorPair, Pass, Reading
from riffract.analysis.mirrors.distance import pace
from riffract.analysis.mirrors.finding import mirror_finding
from riffract.analysis.reordering import Floats, Ids
from riffract.music import Passage, Span

FEWEST_PAIRS_OF_PASSES: Final = 2
"""One riff on both sides of another is a return; two of them in reverse are a mirror."""

_MOST_LETTERS: Final = 16
"""Letters of a form that are written out: about what fits into a line beside its sentence."""


@dataclass(frozen=True, slots=True, kw_only=True)
class FormRow:
    """The form of a passage, seen one way.

    Attributes:
        what: which things follow one another, in words.
        spans: where each stands.
        ids: equal numbers are equal things. Shape: (items,).
    """

    what: str
    spans: tuple[Span, ...]
    ids: Ids


def form_rows(
    passage: Passage, attacks: Sequence[Attack], readings: Sequence[Reading]
) -> tuple[FormRow, ...]:
    """See the form as what may come back in reverse order.

    That are the riffs where there are several. Statements of a single riff differ by their
    departures or by their lengths. Labelled sections are seen besides.

    Returns:
        The ways of seeing it, without those that are too short, hold only one thing, or say the
        same as one before.
    """
    stretches = _stretches(attacks, readings)
    spans = tuple(span for span, _, _ in stretches)
    sections = sorted(passage.sections, key=lambda section: section.span)
    ways: list[tuple[str, tuple[Span, ...], list[Hashable]]] = [
        ("riffs", spans, [riff for _, riff, _ in stretches])
    ]
    if len(readings) < 2:
        ways += [
            ("statements, departures and all,", spans, [(riff, how) for _, riff, how in stretches]),
            ("lengths of the statements", spans, [span.length_quarters for span in spans]),
        ]
    ways.append(("sections", tuple(s.span for s in sections), [s.label for s in sections]))
    rows: list[FormRow] = []
    for what, places, things in ways:
        ids = numbered(things)
        is_short = len(ids) < 2 * FEWEST_PAIRS_OF_PASSES or ids.max(initial=0) == 0
        if not is_short and not any(np.array_equal(ids, row.ids) for row in rows):
            rows.append(FormRow(what=what, spans=places, ids=ids))
    return tuple(rows)


def longest_mirrors(rows: Ids) -> Floats:
    """Find how many items the longest exact mirror of each row holds.

    Args:
        rows: numbers of the items. Shape: (rows, items).

    Returns:
        Its length; a single item is no mirror. Shape: (rows,).

    >>> longest_mirrors(np.array([[0, 1, 2, 1, 0], [0, 1, 1, 0, 2], [0, 1, 2, 3, 4]])).tolist()
    [5.0, 4.0, 0.0]
    """
    best = np.zeros(len(rows))
    row, axis = np.indices((len(rows), max(2 * rows.shape[1] - 3, 0))).reshape(2, -1)
    left = axis // 2
    right = axis + 1 - left
    while len(row):
        goes_on = (left >= 0) & (right < rows.shape[1])
        row, left, right = row[goes_on], left[goes_on], right[goes_on]
        agrees = rows[row, left] == rows[row, right]
        row, left, right = row[agrees], left[agrees], right[agrees]
        np.maximum.at(best, row, right - left + 1)
        left, right = left - 1, right + 1
    return best


def form_mirror(passage: Passage, attacks: Sequence[Attack], row: FormRow) -> Finding | None:
    """Tell the longest mirror of a form, the first one if there are several.

    Returns:
        `None` if fewer than two pairs are in it, or its limbs hold one thing only.
    """
    outer = _longest(row.ids)
    if outer is None:
        return None
    first, last = outer
    pairs = [(first + k, last - k) for k in range((last - first + 1) // 2)][::-1]
    if len(pairs) < FEWEST_PAIRS_OF_PASSES or len(set(row.ids[first : last + 1].tolist())) < 2:
        return None
    middle = row.spans[(first + last) // 2]
    is_odd = (last - first) % 2 == 0
    axis = (middle.start_quarters + middle.end_quarters) / 2 if is_odd else middle.end_quarters
    distances = [
        (axis - row.spans[a].start_quarters, row.spans[b].end_quarters - axis) for a, b in pairs
    ]
    left, right = (
        Span(row.spans[first].start_quarters, axis),
        Span(axis, row.spans[last].end_quarters),
    )
    what = Mirror(
        of="passes",
        voice=row.what,
        axis_quarters=axis,
        axis_pitch=None,
        core_quarters=max(distances[-1]),
        reach_quarters=max(distances[-1]),
        left=left,
        right=right,
        limb_ratio=round(float(left.length_quarters / right.length_quarters), 6),
        scale=pace(distances),
        deviations=(),
        pairs=tuple(_first_notes(attacks, row, pairs)),
    )
    whole = Span(left.start_quarters, right.end_quarters)
    return mirror_finding(
        passage,
        what,
        spans=[whole],
        notes=tuple(i for a in attacks if whole.holds(a.onset_quarters) for i in a.notes),
        bits=None,
        pairs_agree=len(pairs),
        letters=_letters(row.ids[first : last + 1]),
        more={"items": float(last - first + 1), "items_in_all": float(len(row.ids))},
    )


def _stretches(
    attacks: Sequence[Attack], readings: Sequence[Reading]
) -> list[tuple[Span, Hashable, Hashable]]:
    """List the statements of all riffs and what lies between: where, which riff, how it departs."""
    statements = sorted(
        (
            (one.span, riff, _departures_of(one))
            for riff, reading in enumerate(readings)
            for one in _shortest(reading.passes)
        ),
        key=lambda statement: statement[0],
    )
    stretches: list[tuple[Span, Hashable, Hashable]] = []
    if not statements:
        return stretches
    loose: list[Attack] = []
    waiting = list(attacks)[::-1]
    for span, riff, how in statements:
        while waiting and waiting[-1].onset_quarters < span.start_quarters:
            loose.append(waiting.pop())
        while waiting and waiting[-1].onset_quarters < span.end_quarters:
            waiting.pop()
        stretches += _between(loose)
        loose = []
        stretches.append((span, riff, how))
    stretches += _between(waiting[::-1])
    return stretches


def _shortest(passes: Sequence[Pass]) -> Sequence[Pass]:
    """Cut a statement down to what comes back, if it is the only one in full.

    What is stated in full once is a shorter riff, and something else that follows it there.
    """
    full = [k for k, one in enumerate(passes) if one.truncated == "none"]
    cut = [one.span.length_quarters for one in passes if one.truncated == "right"]
    if len(full) != 1 or len(cut) != len(passes) - 1:
        return passes
    whole = passes[full[0]]
    end = whole.span.start_quarters + max(cut)
    kept = replace(whole, span=Span(whole.span.start_quarters, end))
    return [kept if one is whole else replace(one, truncated="none") for one in passes]


def _between(loose: Sequence[Attack]) -> Iterable[tuple[Span, Hashable, Hashable]]:
    if loose:
        end = loose[-1].onset_quarters + loose[-1].value_quarters
        content = tuple((a.pitches, a.value_quarters) for a in loose)
        yield Span(loose[0].onset_quarters, end), content, ()


def _departures_of(one: Pass) -> Hashable:
    start = one.span.start_quarters
    edits = tuple((e.op, e.at_quarters - start, e.expected, e.found) for e in one.edits)
    return one.truncated, edits


def _longest(ids: Ids) -> tuple[int, int] | None:
    """Give the first and last item of the longest exact mirror, the first one if several are."""
    best: tuple[int, int] | None = None
    for doubled in range(1, 2 * len(ids) - 2):
        left = (doubled - 1) // 2
        right = doubled - left
        while left >= 0 and right < len(ids) and ids[left] == ids[right]:
            left, right = left - 1, right + 1
        length = right - left - 1
        if length >= 2 and (best is None or length > best[1] - best[0] + 1):
            best = left + 1, right - 1
    return best


def _first_notes(
    attacks: Sequence[Attack], row: FormRow, pairs: Sequence[tuple[int, int]]
) -> Iterable[MirrorPair]:
    first: dict[Fraction, int] = {a.onset_quarters: a.notes[0] for a in attacks}
    for left, right in pairs:
        here, there = (first.get(row.spans[k].start_quarters) for k in (left, right))
        if here is not None and there is not None:
            yield MirrorPair(left=here, right=there, semitones_off=0)


def _letters(ids: Ids) -> str:
    """Write a form as letters, in order of appearance: `A B C B A`."""
    letters = [ascii_uppercase[k % 26] for k in numbered(ids.tolist()).tolist()]
    more = " …" if len(letters) > _MOST_LETTERS else ""
    return " ".join(letters[:_MOST_LETTERS]) + more
