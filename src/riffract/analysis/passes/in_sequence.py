"""A riff each statement of which stands as far from the one before: a sequence, told as one.

Statements of a riff may stand at other levels (see `cover`), each of which is paid for. Where they
go on by the same step each time, of the scale or in semitones, one step says all levels (see
`motives.sequences`), and the shorter figure is the riff: five bars, each a step lower, are five
statements of one bar, and not two of two bars that depart.
"""

from collections.abc import Sequence
from fractions import Fraction
from math import log2
from typing import Final

from riffract.analysis.attacks import Attack
from riffract.analysis.description import Spelling
from riffract.analysis.finding import Finding, Kind, OtherMaterial, Pass, Passes, Reading
from riffract.analysis.motives.line import MotiveLine, motive_line
from riffract.analysis.motives.sequence_told import how_far
from riffract.analysis.motives.sequences import Chain, find_sequences, places_of
from riffract.analysis.passes.words import riff_in_words
from riffract.analysis.saying import say
from riffract.analysis.wording import length_text, place_in_words, signed, times
from riffract.music import Passage, Span

HELD_SHARE: Final = 0.9
"""Share of the attacks of all statements that the sequence must have: where it leaves out more, the
statements hold something that it does not say."""

LONGEST_LINE: Final = 4_000
"""Notes that are looked at, as for sequences themselves."""


def told_in_sequence(
    passage: Passage,
    attacks: Sequence[Attack],
    lead: Sequence[int],
    spelling: Spelling,
    passes: Sequence[Finding],
) -> tuple[Finding, ...]:
    """Tell riffs whose statements a sequence gives in fewer bits by that sequence.

    Definition: a sequence saves what its intervals say, less the bits of the places that it might
    start from, and the values that its later statements need not spell out. It tells a riff if it
    has nine tenths of the attacks of all statements, and saves more than they do; and so it does a
    rhythm that comes back.

    Args:
        passage: what is read.
        attacks: its attacks.
        lead: indices of the notes of its moving voice, by time.
        spelling: the passage spelled out.
        passes: what was found of its riffs.

    Returns:
        As `passes`, some told otherwise, each once; those that come back as they were are left
        alone.
    """
    if not any(_is_changed(one) for one in passes):
        return tuple(passes)
    line = motive_line(passage, attacks, lead, (), number=0, most_events=LONGEST_LINE)
    told = [_Sequence(passage, attacks, spelling, line, one) for one in _chains(line)]
    by = [next((s for s in told if _is_changed(one) and s.tells(one)), None) for one in passes]
    riffs = len({id(s or one) for s, one in zip(by, passes, strict=True) if not _is_part(one) or s})
    found = [s.finding(riffs) if s else one for s, one in zip(by, passes, strict=True)]
    return tuple({one.id: one for one in found}.values())


def _chains(line: MotiveLine) -> tuple[Chain, ...]:
    places = places_of(line)
    return find_sequences(line, least_bits=log2(places)) if places else ()


def _is_changed(found: Finding) -> bool:
    """Whether what comes back is another one, or in part another one."""
    if not isinstance(found.what, Passes):
        return False
    best = found.what.readings[0]
    return _is_part(found) or any(
        p.transposition or p.edits or p.truncated != "none" for p in best.passes
    )


def _is_part(found: Finding) -> bool:
    return isinstance(found.what, Passes) and found.what.of != "notes"


class _Sequence:
    """A sequence, as statements of a riff."""

    def __init__(
        self,
        passage: Passage,
        attacks: Sequence[Attack],
        spelling: Spelling,
        line: MotiveLine,
        chain: Chain,
    ) -> None:
        attack_of = {i: a.index for a in attacks for i in a.notes}
        self._passage = passage
        self._attacks = attacks
        self._chain = chain
        self._plain_bits = float(spelling.bits.sum())
        self._statements = [
            [attack_of[line.note_of(event)] for event in events] for events in chain.statements
        ]
        self._heights = [int(line.heights[events[0]]) for events in chain.statements]
        later = [attack for one in self._statements[1:] for attack in one]
        self.saved_bits = (
            chain.bits - log2(places_of(line)) + float(spelling.value_bits[later].sum())
        )

    def tells(self, found: Finding) -> bool:
        """Whether it says what the statements of a riff say, in fewer bits."""
        if found.measures["saved_bits"] >= self.saved_bits:
            return False
        own = {attack for one in self._statements for attack in one}
        inside = [
            a.index for a in self._attacks if any(s.holds(a.onset_quarters) for s in found.spans)
        ]
        return len(own.intersection(inside)) >= HELD_SHARE * len(inside)

    def finding(self, riffs: int) -> Finding:
        """Tell it as one of so many riffs."""
        reading = self._reading(self._plain_bits - self.saved_bits)
        own = sorted({attack for one in self._statements for attack in one})
        measures = {
            "passes": float(self._chain.count),
            "complete_passes": float(self._chain.count),
            "edits": 0.0,
            "bits": reading.bits,
            "plain_bits": round(self._plain_bits, 6),
            "saved_bits": round(self.saved_bits, 6),
            "template_quarters": float(reading.template.length_quarters),
            "covered_share": round(len(own) / len(self._attacks), 6),
            "riffs": float(riffs),
            "transpositions": float(self._chain.count - 1),
            "framing_attacks": 0.0,
        }
        return Finding(
            kind=Kind.PASSES,
            spans=tuple(one.span for one in reading.passes),
            notes=tuple(sorted(i for attack in own for i in self._attacks[attack].notes)),
            what=Passes(readings=(reading,)),
            measures=measures,
            sentence=self._sentence(riffs),
            detail=self._detail(reading),
        )

    def _reading(self, bits: float) -> Reading:
        passes = tuple(
            Pass(
                span=span,
                edits=(),
                truncated="none",
                pairs=tuple(zip(self._statements[0], statement, strict=True)),
                transposition=height - self._heights[0],
            )
            for span, statement, height in zip(
                self._spans(), self._statements, self._heights, strict=True
            )
        )
        return Reading(
            template=passes[0].span,
            passes=passes,
            other=self._other(passes[0].span.start_quarters, passes[-1].span.end_quarters),
            bits=round(bits, 6),
        )

    def _spans(self) -> list[Span]:
        starts = [self._attacks[one[0]].onset_quarters for one in self._statements]
        last = min(starts[-1] + starts[1] - starts[0], self._passage.length_quarters)
        return [Span(*edges) for edges in zip(starts, [*starts[1:], last], strict=True)]

    def _other(self, start: Fraction, end: Fraction) -> tuple[OtherMaterial, ...]:
        """Name what stands before and after the sequence."""
        first, last = self._attacks[0].onset_quarters, self._passage.length_quarters
        other = []
        if first < start:
            other.append(OtherMaterial(span=Span(first, start), role="tag"))
        if self._attacks[-1].onset_quarters >= end:
            other.append(OtherMaterial(span=Span(end, last), role="coda"))
        return tuple(other)

    def _sentence(self, riffs: int) -> str:
        start = self._attacks[self._statements[0][0]].onset_quarters
        bar = self._passage.place(start).bar
        return say(
            "{figure} is played {times} in a row, each time {how_far}.",
            figure=riff_in_words(bar, riffs),
            times=times(self._chain.count),
            how_far=how_far(self._chain),
        )

    def _detail(self, reading: Reading) -> str:
        start = reading.template.start_quarters
        metre = self._passage.bar_at(start).metre
        steps = signed(self._chain.steps)
        template = say(
            "Template from {start}, {length} long{frame}; {bits} bits against {plain} without it.",
            start=place_in_words(self._passage.place(start)),
            length=length_text(reading.template.length_quarters, metre),
            frame="",
            bits=f"{reading.bits:.0f}",
            plain=f"{self._plain_bits:.0f}",
        )
        levels = (
            say("A sequence: one distance, {steps} semitones, says all its levels.", steps=steps)
            if self._chain.is_exact
            else say(
                "A sequence: one distance, {steps} in steps of the scale, says all its levels.",
                steps=steps,
            )
        )
        return f"{template} {levels}"
