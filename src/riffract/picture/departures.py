"""Departures: what a pass changes against its template, gathered into what the eye can follow."""

from collections.abc import Container, Iterator, Mapping, Sequence
from dataclasses import dataclass
from fractions import Fraction
from itertools import groupby
from typing import Final, Literal

from riffract.analysis.attacks import Attack
from riffract.analysis.finding import Edit, Limb, Pass, Reading
from riffract.analysis.passes.endings import replaced_ending
from riffract.analysis.saying import say, say_count
from riffract.analysis.wording import counted
from riffract.picture.wording import change_words, length_count, length_words

DepartureKind = Literal["added", "missing", "changed", "stretched"]


@dataclass(frozen=True, slots=True, kw_only=True)
class Departure:
    """A run of edits of one sort, side by side.

    Attributes:
        kind: what sort; `stretched` is a value that is longer or shorter.
        start_quarters, end_quarters: where in the passage; both the same for what is missing.
        attacks: the attacks of the passage that depart; empty for what is missing.
        template_attacks: what the template has there; for what is added, the attack it precedes.
        words: what happens, in a few words.
        is_cut: whether the pass breaks off (or starts late) here.
        short_quarters: how much shorter the pass is than the riff, where it is cut.
    """

    kind: DepartureKind
    start_quarters: Fraction
    end_quarters: Fraction
    attacks: tuple[int, ...]
    template_attacks: tuple[int, ...]
    words: str
    is_cut: bool = False
    short_quarters: Fraction = Fraction(0)


def departures_of(
    one: Pass,
    reading: Reading,
    attacks: Sequence[Attack],
    limbs: Sequence[Limb],
    names: Mapping[int, str],
) -> tuple[Departure, ...]:
    """List what a pass changes, by time.

    How long the last attack of a pass that breaks off is held is no departure of its own.
    """
    last = one.pairs[-1][0] if one.pairs and one.truncated == "right" else None
    told = [e for e in one.edits if e.op != "shift" or e.template_attack != last]
    ending = replaced_ending(one)
    runs = _runs([edit for edit in told if edit not in ending])
    in_time = inserts_in_time(one, attacks, reading.template.end_quarters)
    found = [_departure(list(run), attacks, limbs, names, in_time) for run in runs]
    found += [_other_ending(ending, one, attacks)] if ending else []
    cut = _cut(one, reading, attacks, limbs)
    return tuple(sorted([*found, *cut], key=lambda d: (d.start_quarters, d.kind)))


def inserts_in_time(
    one: Pass, attacks: Sequence[Attack], template_end_quarters: Fraction
) -> dict[int, tuple[int, Fraction]]:
    """Find the added attacks that take no time of their own: the riff's time there is no longer.

    Returns:
        For each of them the attack of the template before it that the pass has, and how much
        later than that it sounds. All are indices of attacks of the passage.
    """
    if not one.pairs:
        return {}
    added = {edit.at_quarters for edit in one.edits if edit.op == "insert"}
    inner = [a for a in attacks if a.onset_quarters in added]
    moments = [(t, attacks[t].onset_quarters, attacks[own].onset_quarters) for t, own in one.pairs]
    ends = [*moments[1:], (-1, template_end_quarters, one.span.end_quarters)]
    return {
        a.index: (template, a.onset_quarters - own)
        for (template, there, own), (_, there_end, own_end) in zip(moments, ends, strict=True)
        if own_end - own <= there_end - there
        for a in inner
        if own < a.onset_quarters < own_end
    }


def tail_of_template(
    other: Sequence[Attack], template: Sequence[Attack]
) -> tuple[tuple[int, int], ...]:
    """Pair a stretch before the first pass with the end of the template, if it is heard there.

    Returns:
        (attack of the template, attack of the stretch), both as indices; empty if fewer than two
        thirds of them have the same pitches.
    """
    if not other or len(other) > len(template):
        return ()
    tail = template[-len(other) :]
    same = sum(a.pitches == b.pitches for a, b in zip(tail, other, strict=True))
    if 3 * same < 2 * len(other):
        return ()
    return tuple((a.index, b.index) for a, b in zip(tail, other, strict=True))


def attacks_in(attacks: Sequence[Attack], start: Fraction, end: Fraction) -> list[Attack]:
    """List the attacks of a stretch."""
    return [a for a in attacks if start <= a.onset_quarters < end]


def _runs(edits: Sequence[Edit]) -> Iterator[list[Edit]]:
    """Split edits into runs of one sort that stand side by side in the template."""

    def key(indexed: tuple[int, Edit]) -> tuple[str, int]:
        number, edit = indexed
        # Added attacks share the place they precede; others move on by one.
        place = edit.template_attack - (0 if edit.op == "insert" else number)
        return edit.op, place

    for _, run in groupby(enumerate(edits), key=key):
        yield [edit for _, edit in run]


_KINDS: Final[Mapping[str, DepartureKind]] = {
    "insert": "added",
    "delete": "missing",
    "substitute": "changed",
    "shift": "stretched",
}


def _departure(
    run: Sequence[Edit],
    attacks: Sequence[Attack],
    limbs: Sequence[Limb],
    names: Mapping[int, str],
    in_time: Container[int],
) -> Departure:
    own = [a for a in attacks if a.notes and any(a.notes == edit.notes for edit in run)]
    start = run[0].at_quarters
    return Departure(
        kind=_KINDS[run[0].op],
        start_quarters=start,
        end_quarters=max((a.onset_quarters + a.value_quarters for a in own), default=start),
        attacks=tuple(a.index for a in own),
        template_attacks=tuple(dict.fromkeys(edit.template_attack for edit in run)),
        words=(
            say_count(len(own), "+{count} attack", "+{count} attacks")
            if own and all(a.index in in_time for a in own)
            else _words(run, attacks, limbs, names)
        ),
    )


def _other_ending(ending: Sequence[Edit], one: Pass, attacks: Sequence[Attack]) -> Departure:
    """Gather all of an ending that stands for the riff's into one departure."""
    notes = [edit.notes for edit in ending if edit.op != "delete"]
    own = [a for a in attacks if a.notes in notes]
    return Departure(
        kind="changed",
        start_quarters=own[0].onset_quarters,
        end_quarters=one.span.end_quarters,
        attacks=tuple(a.index for a in own),
        template_attacks=tuple(dict.fromkeys(edit.template_attack for edit in ending)),
        words=say("another ending"),
    )


def _words(
    run: Sequence[Edit],
    attacks: Sequence[Attack],
    limbs: Sequence[Limb],
    names: Mapping[int, str],
) -> str:
    expected = [edit.expected for edit in run if edit.expected is not None]
    found = [edit.found for edit in run if edit.found is not None]
    longer = sum((e.value_quarters for e in found), Fraction(0)) - sum(
        (e.value_quarters for e in expected), Fraction(0)
    )
    match run[0].op:
        case "insert":
            return f"+{length_count(longer)}"
        case "delete":
            return _missing_words([attacks[edit.template_attack] for edit in run], limbs)
        case "substitute" if len(run) > 1:
            return say("{attacks} changed", attacks=counted(len(run), "attack"))
        case "substitute":
            return change_words(expected[0].pitches, found[0].pitches, names)
        case "shift" if longer == 0:
            return say("another rhythm")
        case "shift":
            length = length_words(abs(longer))
            if longer > 0:
                return say("{length} longer", length=length)
            return say("{length} shorter", length=length)


_NO_LIMB: Final[Mapping[str, str]] = {"rising": "no climb", "falling": "no fall"}


def _missing_words(missing: Sequence[Attack], limbs: Sequence[Limb]) -> str:
    """Name a whole limb that is missing as such; else count the attacks."""
    for limb in limbs:
        whole = [a for a in missing if limb.span.holds(a.onset_quarters)]
        notes = {note for a in whole for note in a.notes}
        is_all = bool(limb.notes) and notes >= set(limb.notes)
        if (
            is_all
            and 3 * len(whole) >= 2 * len(missing)
            and limb.direction in {"falling", "rising"}
        ):
            return say(_NO_LIMB[limb.direction])
    return say("{attacks} left out", attacks=counted(len(missing), "attack"))


def _cut(
    one: Pass, reading: Reading, attacks: Sequence[Attack], limbs: Sequence[Limb]
) -> list[Departure]:
    """Tell what a pass that starts late or breaks off leaves out."""
    if one.truncated == "none" or not one.pairs:
        return []
    whole = attacks_in(attacks, reading.template.start_quarters, reading.template.end_quarters)
    if one.truncated == "right":
        last = one.pairs[-1][0]
        missing = [a for a in whole if a.index > last]
        at = one.span.end_quarters
    else:
        missing = [a for a in whole if a.index < one.pairs[0][0]]
        at = one.span.start_quarters
    if not missing:
        return []
    return [
        Departure(
            kind="missing",
            start_quarters=at,
            end_quarters=at,
            attacks=(),
            template_attacks=tuple(a.index for a in missing),
            words=_missing_words(missing, limbs),
            is_cut=True,
            short_quarters=max(
                reading.template.length_quarters - one.span.length_quarters, Fraction(0)
            ),
        )
    ]
