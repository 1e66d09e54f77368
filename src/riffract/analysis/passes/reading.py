"""From a cover, attack by attack, to a reading in bars and beats.

A cover by several riffs is read from the point of view of one of them: what another riff states is
other material then.
"""

from collections.abc import Iterable, Sequence
from dataclasses import replace
from fractions import Fraction
from functools import cached_property
from typing import Final, Literal

import numpy as np

from riffract.analysis.attacks import Attack, held_until
from riffract.analysis.description import Spelling
from riffract.analysis.finding import AttackContent, Edit, OtherMaterial, Pass, Reading
from riffract.analysis.passes.beginnings import with_replaced_beginnings
from riffract.analysis.passes.cover import Op, Step, Template
from riffract.analysis.passes.cover_steps import runs_of
from riffract.analysis.passes.endings import with_replaced_endings
from riffract.analysis.passes.substitutions import with_substitutions
from riffract.analysis.passes.template_prices import TemplateSet
from riffract.analysis.passes.templates import riffs_of
from riffract.music import Passage, Span

_EDIT_OF_OP: Final[dict[Op, Literal["substitute", "insert", "delete", "shift"]]] = {
    "value": "shift",
    "pitches": "substitute",
    "both": "substitute",
    "insert": "insert",
    "delete": "delete",
}


class Reader:
    """Reads covers of one passage."""

    def __init__(
        self,
        passage: Passage,
        attacks: Sequence[Attack],
        spelling: Spelling,
        opening: frozenset[int],
    ) -> None:
        self.passage = passage
        self.attacks = attacks
        self.spelling = spelling
        self._after_rests = frozenset(attacks[index].onset_quarters for index in opening)

    def readings(self, templates: TemplateSet, steps: Sequence[Step], bits: float) -> list[Reading]:
        """Read a passage from the point of view of each riff of a set.

        Args:
            templates: the riffs, with their moved forms.
            steps: the cheapest cover by them.
            bits: its price.

        Returns:
            A reading for each riff, in the order of `riffs_of`.
        """
        runs: Sequence[Sequence[Step]] = list(runs_of(steps))
        runs = with_replaced_endings(self.passage, self.attacks, self.spelling, templates, runs)
        runs = with_replaced_beginnings(self.attacks, self.spelling, templates, runs)
        found: list[Reading] = []
        for unit in riffs_of(templates):
            rows = {row for row, t in enumerate(templates) if t in unit}
            found.append(self._reading(templates, rows, runs, bits))
        return found

    def _reading(
        self,
        templates: TemplateSet,
        rows: set[int],
        runs: Iterable[Sequence[Step]],
        bits: float,
    ) -> Reading:
        """Read a cover from the point of view of one riff, given by the rows of its forms."""
        home = templates[min(rows)]
        passes: list[Pass] = []
        other: list[Span] = []
        for run in runs:
            if run[0].template not in rows:
                _add(other, self._span(run))
            else:
                passes.append(self._pass(templates[run[0].template], run))
        if passes and _is_only_a_tail(passes[0], home):
            other.append(passes.pop(0).span)
        start, end = (
            self.attacks[home.start].onset_quarters,
            self.ends[home.start + home.length - 1],
        )
        return self._with_opening_rests(
            Reading(
                template=Span(start, end),
                passes=tuple(passes),
                other=tuple(
                    OtherMaterial(span=span, role=_role(span, passes)) for span in sorted(other)
                ),
                bits=round(bits, 6),
            )
        )

    @cached_property
    def ends(self) -> list[Fraction]:
        """When each attack's time is over; the last one lasts as long as it is held."""
        ends = [a.onset_quarters + a.value_quarters for a in self.attacks[:-1]]
        return [*ends, held_until(self.passage, self.attacks[-1])]

    def _span(self, run: Sequence[Step]) -> Span:
        present = [step.attack for step in run if step.op != "delete"]
        return Span(self.attacks[present[0]].onset_quarters, self.ends[present[-1]])

    def _pass(self, template: Template, run: Sequence[Step]) -> Pass:
        steps = with_substitutions(self.attacks, template, run)
        return Pass(
            span=self._span(steps),
            edits=tuple(self._edit(template, s) for s in steps if s.op != "keep"),
            truncated=_truncated(steps, template.length),
            pairs=tuple(
                (template.start + s.place, s.attack)
                for s in steps
                if s.op not in {"insert", "delete"}
            ),
            transposition=template.semitones,
        )

    def _edit(self, template: Template, step: Step) -> Edit:
        found = self.attacks[step.attack] if step.op != "delete" else None
        at_end = step.attack == len(self.attacks)
        place = min(step.place + (step.op == "insert"), template.length - 1)
        return Edit(
            op=_EDIT_OF_OP[step.op],
            at_quarters=(
                self.passage.length_quarters if at_end else self.attacks[step.attack].onset_quarters
            ),
            expected=None if step.op == "insert" else self._expected(template, step.place),
            found=found.content if found else None,
            notes=found.notes if found else (),
            template_attack=template.start + place,
        )

    def _expected(self, template: Template, place: int) -> AttackContent:
        index = template.start + place
        content = self.attacks[index].content
        stays = template.keeps_anchor and self.spelling.pitches[index] == self.spelling.anchor
        if not template.semitones or stays:
            return content
        return replace(content, pitches=tuple(p + template.semitones for p in content.pitches))

    def _with_opening_rests(self, reading: Reading) -> Reading:
        """Let a riff start with its bar where every statement follows a rest on the bar line.

        The rest then belongs to the statement that it opens, not to the one before it.
        """
        if not self._after_rests:
            return reading
        whole = [one.span.start_quarters for one in reading.passes if one.truncated != "left"]
        starts = [*whole, reading.template.start_quarters]
        rests = {self._opening_rest(start) for start in starts}
        if len(rests) != 1 or not (rest := rests.pop()):
            return reading
        first_starts = set(starts)

        def moved(span: Span) -> Span:
            start = span.start_quarters - (rest if span.start_quarters in first_starts else 0)
            end = span.end_quarters
            return Span(start, end - rest if end in first_starts else self._sounding(end, rest))

        return replace(
            reading,
            template=moved(reading.template),
            passes=tuple(replace(one, span=moved(one.span)) for one in reading.passes),
            other=tuple(
                replace(o, span=moved(o.span))
                for o in reading.other
                if moved(o.span).length_quarters > 0
            ),
        )

    def _sounding(self, end: Fraction, rest: Fraction) -> Fraction:
        """Leave a rest that opens the next bar out of what ends with it."""
        return end - rest if self._opening_rest(end) == rest else end

    def _opening_rest(self, start: Fraction) -> Fraction:
        """Silence from the bar line up to an attack; 0 if anything is held over the bar line."""
        if start not in self._after_rests:
            return Fraction(0)
        return start - self.passage.bar_at(start).start_quarters


def opening_bars(passage: Passage, attacks: Sequence[Attack]) -> frozenset[int]:
    """List the attacks that come first in a bar which starts with a rest.

    After silence for more than half of the bar, what comes is an upbeat to the next one.
    """
    notes = passage.notes
    rows = np.array([attack.notes[0] for attack in attacks], dtype=np.int64)
    onsets = notes.onset_ticks[rows]
    ends = np.maximum.reduceat(notes.onset_ticks + notes.duration_ticks, rows)
    heard = np.concatenate([[0], np.maximum.accumulate(ends)[:-1]])
    heard = np.minimum(heard, onsets)
    ticks = notes.ticks_per_quarter
    bar_lines = np.array([float(bar.start_quarters * ticks) for bar in passage.bars])
    halves = np.array([float(bar.metre.length_quarters * ticks / 2) for bar in passage.bars])
    bar_of = np.searchsorted(bar_lines, onsets, side="right") - 1
    late = onsets - bar_lines[bar_of]
    opens = (heard <= bar_lines[bar_of]) & (late > 0.0) & (late <= halves[bar_of])
    return frozenset(np.flatnonzero(opens).tolist())


def _add(spans: list[Span], span: Span) -> None:
    """Add a span, as part of the last one if it follows upon it."""
    if spans and spans[-1].end_quarters == span.start_quarters:
        span = Span(spans.pop().start_quarters, span.end_quarters)
    spans.append(span)


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
