"""Where does the riff start and end, what is its basic version, how does each repeat differ?

A reading says: this stretch is the template; the passage is a row of statements of it, each with
its few departures, and of other material. Of two readings the one that describes the passage in
fewer bits is the better one (`riffract.analysis.cover` holds the code and its sources). A reading
is told only if it describes the passage in fewer bits than spelling it out would. A passage may
play two or three riffs, one after the other or in turn; each is a finding of its own.

Strings and techniques play no part: a riff moved to other strings is the same riff.
"""

from collections.abc import Iterable, Sequence
from dataclasses import replace
from fractions import Fraction
from functools import partial
from itertools import groupby
from typing import Final, Literal

from riffract.analysis.attacks import Attack, held_until
from riffract.analysis.cover import Op, Step, Template, cover
from riffract.analysis.description import Spelling
from riffract.analysis.endings import replaced_ending, with_replaced_endings
from riffract.analysis.finding import (
    Edit,
    Finding,
    Kind,
    OtherMaterial,
    Pass,
    Passes,
    Reading,
)
from riffract.analysis.other_readings import rival_texts
from riffract.analysis.template_prices import (
    TemplateSet,
    naming_bits,
    prices_of,
    tokens_of,
)
from riffract.analysis.templates import cell_of, rank_template_sets
from riffract.analysis.wording import counted, in_words, length_text, listed, times
from riffract.music import Passage, Span

_FEWEST_ATTACKS: Final = 4
_READINGS_KEPT: Final = 3
_SETS_READ: Final = 6
_PHRASE_BITS: Final = 4.0
"""What a reading in whole phrases may cost more than one that tells their beginnings alone."""

_EDIT_OF_OP: Final[dict[Op, Literal["substitute", "insert", "delete", "shift"]]] = {
    "value": "shift",
    "pitches": "substitute",
    "both": "substitute",
    "insert": "insert",
    "delete": "delete",
}


def find_passes(passage: Passage, attacks: Sequence[Attack]) -> tuple[Finding, ...]:
    """Read a passage as statements of one riff, or of a few.

    Returns:
        A finding for each riff, the one that fills most of the passage first; of its readings the
        one told comes first, then its rivals by bits. Nothing when no reading describes the
        passage in fewer bits than spelling it out.
    """
    if len(attacks) < _FEWEST_ATTACKS:
        return ()
    spelling = spelling_of(passage, attacks)
    plain_bits = float(spelling.bits.sum())
    ranked = [
        (templates, bits)
        for templates, bits in rank_template_sets(spelling, plain_bits)
        if bits + naming_bits(spelling, templates) < plain_bits
    ]
    if not ranked:
        return ()
    best = _cells(spelling, ranked[0][0])
    bits = prices_of(spelling, [best])[best]
    full_bits = bits + naming_bits(spelling, best)
    if full_bits >= plain_bits:
        return ()
    told = [r for r in _readings(passage, attacks, spelling, best, bits) if len(r.passes) >= 2]
    told.sort(key=_covered, reverse=True)
    others = [_readings(passage, attacks, spelling, *one) for one in _other_sets(spelling, ranked)]
    phrase = _whole_phrase(passage, told[0], others) if len(told) == 1 else None
    if phrase is not None:
        others = [told, *others]
        told, full_bits = [phrase], phrase.bits
    return tuple(
        _finding(
            passage,
            attacks,
            (reading, *_rivals(reading, others)),
            plain_bits=plain_bits,
            full_bits=full_bits,
            riffs=len(told),
        )
        for reading in told
    )


def _cells(spelling: Spelling, templates: TemplateSet) -> TemplateSet:
    return tuple(dict.fromkeys(cell_of(spelling, template) for template in templates))


def _readings(
    passage: Passage,
    attacks: Sequence[Attack],
    spelling: Spelling,
    templates: TemplateSet,
    bits: float,
) -> list[Reading]:
    """Read the passage from the point of view of each riff of a set."""
    runs = with_replaced_endings(
        passage, attacks, spelling, templates, _runs(cover(spelling, templates))
    )
    return [
        _reading(passage, attacks, template, [_own(run, index) for run in runs], bits)
        for index, template in enumerate(templates)
    ]


def _own(run: Sequence[Step], index: int) -> list[Step]:
    """See a run from one riff's point of view: what another riff states is other material."""
    if run[0].template == index:
        return list(run)
    present = [step for step in run if step.op != "delete"]
    return [replace(s, op="other", begins=k == 0) for k, s in enumerate(present)]


def _other_sets(
    spelling: Spelling, ranked: Sequence[tuple[TemplateSet, float]]
) -> list[tuple[TemplateSet, float]]:
    """Give the next-best sets that hear other riffs than the best and than one another."""
    seen = [ranked[0]]
    for templates, bits in ranked[1:]:
        if not any(_are_alike(spelling, templates, other) for other, _ in seen):
            seen.append((templates, bits))
        if len(seen) > _SETS_READ:
            break
    return seen[1:]


def _rivals(reading: Reading, sets: Iterable[Sequence[Reading]]) -> list[Reading]:
    """Set against a riff what rivals it.

    That is the riff of another set that shares most of its music, where it is heard in other
    passes.
    """
    kept: list[Reading] = []
    for others in sets:
        rival = max(others, key=partial(_shared_quarters, reading))
        known = {_hearing(one) for one in (reading, *kept)}
        if len(rival.passes) >= 2 and _hearing(rival) not in known:
            kept.append(rival)
    return kept[: _READINGS_KEPT - 1]


def _hearing(reading: Reading) -> tuple[object, ...]:
    """Give what makes two readings two hearings: where passes start, and how long the riff is.

    How far a pass is said to go before its ending is another one is a matter of words.
    """
    starts = (one.span.start_quarters for one in reading.passes)
    return (reading.template.length_quarters, *starts)


def _whole_phrase(
    passage: Passage, shortest: Reading, others: Iterable[Sequence[Reading]]
) -> Reading | None:
    """Find the reading in phrases of whole bars of which the shortest one tells the beginnings.

    A phrase that comes back with another last bar costs a few bits more than its beginning does,
    with what follows spelled out each time; but where the phrases fill the whole passage, nobody
    hears their last bars as music between. Most of each must come back, else those would be.
    """
    starts = [one.span.start_quarters for one in shortest.passes]
    for readings in others:
        for one in readings:
            length = one.template.length_quarters
            if (
                one.bits - shortest.bits <= _PHRASE_BITS
                and [p.span.start_quarters for p in one.passes] == starts
                and all(p.truncated == "none" for p in one.passes)
                and all(p.span.length_quarters == length for p in one.passes)
                and not one.other
                and _starts_with_bars(passage, one.passes)
                and 3 * shortest.template.length_quarters >= 2 * length
                and length > shortest.template.length_quarters
            ):
                return one
    return None


def _starts_with_bars(passage: Passage, passes: Iterable[Pass]) -> bool:
    bar_lines = {bar.start_quarters for bar in passage.bars}
    return all(one.span.start_quarters in bar_lines for one in passes)


def _are_alike(spelling: Spelling, these: TemplateSet, those: TemplateSet) -> bool:
    """Whether two sets name the same riffs by other statements of them."""
    return len(these) == len(those) and all(
        any(_is_same_riff(spelling, one, other) for other in those) for one in these
    )


def _is_same_riff(spelling: Spelling, one: Template, other: Template) -> bool:
    if one.length != other.length:
        return False
    pairs = zip(tokens_of(spelling, one), tokens_of(spelling, other), strict=True)
    same = sum(a == b for a, b in pairs)
    in_phase = (one.start - other.start) % one.length == 0
    return same == one.length or (in_phase and 2 * same >= one.length)


def _shared_quarters(one: Reading, other: Reading) -> Fraction:
    return sum(
        (a.overlap_quarters(b) for a in _pass_spans(one) for b in _pass_spans(other)), Fraction(0)
    )


def _covered(reading: Reading) -> Fraction:
    return sum((p.span.length_quarters for p in reading.passes), Fraction(0))


def spelling_of(passage: Passage, attacks: Sequence[Attack]) -> Spelling:
    """Spell out attacks by their pitches, dead notes and values."""
    bar_starts = {bar.start_quarters for bar in passage.bars}
    return Spelling.of(
        [(a.pitches, len(a.notes) - len(a.pitches)) for a in attacks],
        [a.value_quarters for a in attacks],
        [a.onset_quarters in bar_starts for a in attacks],
    )


def _pass_spans(reading: Reading) -> tuple[Span, ...]:
    return tuple(one.span for one in reading.passes)


def _reading(
    passage: Passage,
    attacks: Sequence[Attack],
    template: Template,
    runs: Iterable[Sequence[Step]],
    bits: float,
) -> Reading:
    # The last attack lasts as long as it is held: nothing follows that would end it.
    ends = [a.onset_quarters + a.value_quarters for a in attacks[:-1]]
    ends.append(held_until(passage, attacks[-1]))
    passes: list[Pass] = []
    other: list[Span] = []
    for run in map(partial(_with_substitutions, attacks, template), runs):
        present = [step.attack for step in run if step.op != "delete"]
        span = Span(attacks[present[0]].onset_quarters, ends[present[-1]])
        if run[0].op == "other":
            if other and other[-1].end_quarters == span.start_quarters:
                span = Span(other.pop().start_quarters, span.end_quarters)
            other.append(span)
            continue
        passes.append(
            Pass(
                span=span,
                edits=tuple(_edit(passage, attacks, template, s) for s in run if s.op != "keep"),
                truncated=_truncated(run, template.length),
                pairs=tuple(
                    (template.start + s.place, s.attack)
                    for s in run
                    if s.op not in {"insert", "delete"}
                ),
            )
        )
    if passes and _is_only_a_tail(passes[0], template):
        other.append(passes.pop(0).span)
    return Reading(
        template=Span(
            attacks[template.start].onset_quarters, ends[template.start + template.length - 1]
        ),
        passes=tuple(passes),
        other=tuple(OtherMaterial(span=span, role=_role(span, passes)) for span in sorted(other)),
        bits=round(bits, 6),
    )


def _runs(steps: Sequence[Step]) -> list[list[Step]]:
    """Split steps into passes and stretches of other material."""
    runs: list[list[Step]] = []
    for step in steps:
        if step.begins or not runs:
            runs.append([])
        runs[-1].append(step)
    return runs


def _with_substitutions(
    attacks: Sequence[Attack], template: Template, run: Sequence[Step]
) -> list[Step]:
    """Call it a substitution where an added attack shares a pitch with a missing one beside it.

    A block of added and missing attacks costs less than substitutions that share nothing; but
    where a chord has changed one note, nobody would say that one chord went and another came.
    """
    steps: list[Step] = []
    for is_block, group in groupby(run, key=lambda s: s.op in {"insert", "delete"}):
        block = list(group)
        steps += _paired(attacks, template, block) if is_block else block
    return steps


def _paired(attacks: Sequence[Attack], template: Template, block: Sequence[Step]) -> list[Step]:
    added = [s for s in block if s.op == "insert"]
    missing = [s for s in block if s.op == "delete"]
    pairs = _best_pairs(
        [
            [_shared(attacks[a.attack], attacks[template.start + m.place]) for m in missing]
            for a in added
        ]
    )
    if not pairs:
        return list(block)
    partner_of = {added[i].attack: missing[j] for i, j in pairs}
    taken = {missing[j].place for _, j in pairs}
    left = [m for m in missing if m.place not in taken]
    steps: list[Step] = []
    # The last place before the block, whichever of the two came first in it.
    place = min(s.place - (s.op == "delete") for s in block)
    for step in added:
        partner = partner_of.get(step.attack)
        if partner is None:
            steps.append(replace(step, place=place))
            continue
        earlier = [m for m in left if m.place < partner.place]
        left = [m for m in left if m.place > partner.place]
        steps += [replace(m, attack=step.attack) for m in earlier]
        place = partner.place
        kept = attacks[step.attack].pitches == attacks[template.start + place].pitches
        steps.append(replace(step, place=place, op="value" if kept else "both"))
    return [*steps, *left]


def _shared(one: Attack, other: Attack) -> int:
    return len(set(one.pitches) & set(other.pitches))


def _best_pairs(shared: Sequence[Sequence[int]]) -> list[tuple[int, int]]:
    """Pair rows with columns, in order, so that as much as possible is shared."""
    rows, columns = len(shared), len(shared[0]) if shared else 0
    best = [[0] * (columns + 1) for _ in range(rows + 1)]
    for i in range(1, rows + 1):
        for j in range(1, columns + 1):
            both = best[i - 1][j - 1] + shared[i - 1][j - 1]
            best[i][j] = max(both, best[i - 1][j], best[i][j - 1])
    pairs: list[tuple[int, int]] = []
    i, j = rows, columns
    while i and j:
        if best[i][j] == best[i - 1][j]:
            i -= 1
        elif best[i][j] == best[i][j - 1]:
            j -= 1
        else:
            i, j = i - 1, j - 1
            pairs.append((i, j))
    return pairs[::-1]


def _truncated(run: Sequence[Step], length: int) -> Literal["none", "left", "right"]:
    if run[0].place > 0:
        return "left"
    return "right" if run[-1].place < length - 1 else "none"


def _is_only_a_tail(first: Pass, template: Template) -> bool:
    """Whether an opening quotes less than half of the riff, and its end only: a tag."""
    return first.truncated == "left" and 2 * len(first.pairs) < template.length


def _role(span: Span, passes: Sequence[Pass]) -> Literal["tag", "link", "coda"]:
    if not passes or span.end_quarters <= passes[0].span.start_quarters:
        return "tag"
    return "coda" if span.start_quarters >= passes[-1].span.end_quarters else "link"


def _edit(passage: Passage, attacks: Sequence[Attack], template: Template, step: Step) -> Edit:
    found = attacks[step.attack] if step.op != "delete" else None
    at_end = step.attack == len(attacks)
    place = min(step.place + (step.op == "insert"), template.length - 1)
    return Edit(
        op=_EDIT_OF_OP[step.op],
        at_quarters=passage.length_quarters if at_end else attacks[step.attack].onset_quarters,
        expected=(None if step.op == "insert" else attacks[template.start + step.place].content),
        found=found.content if found else None,
        notes=found.notes if found else (),
        template_attack=template.start + place,
    )


def _finding(
    passage: Passage,
    attacks: Sequence[Attack],
    readings: tuple[Reading, ...],
    *,
    plain_bits: float,
    full_bits: float,
    riffs: int,
) -> Finding:
    best = readings[0]
    covered = {attack for one in best.passes for _, attack in one.pairs}
    return Finding(
        kind=Kind.PASSES,
        spans=tuple(one.span for one in best.passes),
        notes=tuple(sorted(i for attack in covered for i in attacks[attack].notes)),
        what=Passes(readings=readings),
        measures={
            "passes": float(len(best.passes)),
            "complete_passes": float(sum(one.truncated == "none" for one in best.passes)),
            "edits": float(sum(len(one.edits) for one in best.passes)),
            "bits": round(full_bits, 6),
            "plain_bits": round(plain_bits, 6),
            "saved_bits": round(plain_bits - full_bits, 6),
            "template_quarters": float(best.template.length_quarters),
            "covered_share": round(len(covered) / len(attacks), 6),
            "riffs": float(riffs),
        },
        sentence=_sentence(passage, best, riffs),
        detail=_detail(passage, readings, plain_bits, full_bits),
    )


def _sentence(passage: Passage, best: Reading, riffs: int) -> str:
    changed = sum(bool(one.edits) or one.truncated != "none" for one in best.passes)
    count = len(best.passes)
    start = passage.place(best.template.start_quarters)
    riff = "The riff" if riffs == 1 else f"The riff of bar {start.bar}"
    played = f"{riff} is played {times(count)}"
    if not changed:
        return f"{played}, each time the same{_other_said(best) if riffs == 1 else ''}."
    if count == 2:
        return f"{played}, and not quite the same."
    if changed >= count - 1:
        return f"{played}, and no repeat is quite the same."
    verb = "departs" if changed == 1 else "depart"
    return f"{played}; {in_words(changed)} of them {verb} from it."


def _other_said(best: Reading) -> str:
    """Say that there is more than the passes, and where."""
    roles = {other.role for other in best.other}
    where = [word for role, word in _WHERE.items() if role in roles]
    return f", with other music {listed(where)}" if where else ""


_WHERE: Final = {"tag": "before", "link": "between", "coda": "after"}


def _detail(
    passage: Passage, readings: Sequence[Reading], plain_bits: float, full_bits: float
) -> str:
    best = readings[0]
    start = passage.place(best.template.start_quarters)
    metre = passage.bar_at(best.template.start_quarters).metre
    length = length_text(best.template.length_quarters, metre)
    bits = f"{full_bits:.0f} bits against {plain_bits:.0f} without it"
    parts = [f"Template from {start}, {length} long; {bits}."]
    parts += [
        f"Pass {number} at {passage.place(one.span.start_quarters)}: {_departures(one)}."
        for number, one in enumerate(best.passes, start=1)
        if one.edits or one.truncated != "none"
    ]
    parts += _drift(passage, best)
    parts += [
        f"Rival, {abs(rival.bits - best.bits):.1f} bits "
        f"{'behind' if rival.bits >= best.bits else 'ahead'}: {text}."
        for rival, text in zip(readings[1:], rival_texts(passage, readings), strict=True)
    ]
    return " ".join(parts)


def _drift(passage: Passage, best: Reading) -> list[str]:
    """Say when a riff that does not fill whole bars meets the bar lines again."""
    metres = {bar.metre for bar in passage.bars}
    if len(metres) != 1:
        return []
    metre = metres.pop()
    in_bars = best.template.length_quarters / metre.length_quarters
    if in_bars.denominator == 1:
        return []
    passes = counted(in_bars.denominator, "pass", "passes")
    bars = counted(in_bars.numerator, "bar")
    return [f"Against {metre.label()} it meets the bar lines again after {passes}, {bars}."]


def _departures(one: Pass) -> str:
    missing = {"left": "its beginning is missing", "right": "its end is missing", "none": ""}
    ending = replaced_ending(one)
    count = len(one.edits) - len(ending)
    edits = f"{count} departure{'s' if count != 1 else ''}" if count else ""
    other_ending = "its ending is another one" if ending else ""
    return ", ".join(part for part in (edits, other_ending, missing[one.truncated]) if part)
