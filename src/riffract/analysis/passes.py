"""Where does the riff start and end, what is its basic version, how does each repeat differ?

A reading says: this stretch is the template; the passage is a row of statements of it, each with
its few departures, maybe higher or lower, and of other material. Of two readings the one that
describes the passage in fewer bits is the better one (`riffract.analysis.cover` holds the code and
its sources). A reading is told only if it describes the passage in fewer bits than spelling it out
would. A passage may play two or three riffs, one after the other or in turn; each is a finding of
its own. Where the rhythm alone, or the pitches alone, come back and say more than notes that come
back would, that is told.

Strings and techniques play no part: a riff moved to other strings is the same riff.
"""

from collections.abc import Sequence
from dataclasses import dataclass
from fractions import Fraction
from typing import Final, Literal

import numpy as np

from riffract.analysis.attacks import Attack
from riffract.analysis.cover import covers
from riffract.analysis.description import Spelling
from riffract.analysis.finding import Finding, Kind, Passes, Reading
from riffract.analysis.passes_words import detail_of, drift_of, sentence_of
from riffract.analysis.reading import Reader, opening_bars
from riffract.analysis.rivals import rivals_of, whole_phrase
from riffract.analysis.template_prices import (
    TemplateSet,
    all_tokens,
    naming_bits,
    prices_of,
)
from riffract.analysis.templates import cell_of, different_sets, rank_template_sets
from riffract.music import Passage

Part = Literal["notes", "rhythm", "pitches"]

_FEWEST_ATTACKS: Final = 4
_SHORTEST_PART: Final = 3
"""A rhythm of two values that comes back is a way of playing, and so is a pair of pitches."""
_PART_BITS: Final = 2.0
"""What it costs to say that only the rhythm, or only the pitches, come back."""


@dataclass(frozen=True, slots=True, kw_only=True)
class _Account:
    """The readings by which a passage is told in fewest bits.

    Attributes:
        told: one reading a riff, each followed by its rivals.
        plain_bits: the passage without a riff.
        full_bits: the passage with them.
    """

    of: Part
    told: tuple[tuple[Reading, ...], ...]
    plain_bits: float
    full_bits: float

    @property
    def saved_bits(self) -> float:
        return self.plain_bits - self.full_bits


def find_passes(passage: Passage, attacks: Sequence[Attack]) -> tuple[Finding, ...]:
    """Read a passage as statements of one riff, or of a few.

    Returns:
        A finding for each riff, the one that fills most of the passage first; of its readings the
        one told comes first, then its rivals by bits. Then the rhythm or the pitches, where these
        alone say more by coming back. Nothing when no reading describes the passage in fewer bits
        than spelling it out.
    """
    if len(attacks) < _FEWEST_ATTACKS:
        return ()
    spelling = spelling_of(passage, attacks)
    notes = _account(passage, attacks, spelling, "notes")
    accounts = [notes, *_parts(passage, attacks, spelling, notes)]
    return tuple(
        _finding(passage, attacks, spelling, account, readings)
        for account in accounts
        if account is not None
        for readings in account.told
    )


def spelling_of(passage: Passage, attacks: Sequence[Attack]) -> Spelling:
    """Spell out attacks by their pitches, dead notes and values."""
    bar_starts = {bar.start_quarters for bar in passage.bars}
    after_rest = opening_bars(passage, attacks) if attacks else frozenset()
    struck = [(a.pitches, len(a.notes) - len(a.pitches)) for a in attacks]
    anchor = ((passage.tuning.open_pitch(passage.tuning.lowest_string),), 0)
    return Spelling.of(
        struck,
        [a.value_quarters for a in attacks],
        [a.onset_quarters in bar_starts or a.index in after_rest for a in attacks],
    ).with_struck(struck, anchor)


def _parts(
    passage: Passage, attacks: Sequence[Attack], spelling: Spelling, notes: _Account | None
) -> list[_Account]:
    """Read the rhythm and the pitches apart, where that may say more than the notes do."""
    saved = 0.0 if notes is None else notes.saved_bits
    if 2 * saved >= spelling.bits.sum():
        return []
    found: list[_Account] = []
    parts: tuple[tuple[Part, Spelling], ...] = (
        ("rhythm", spelling.rhythm_only()),
        ("pitches", spelling.pitches_only()),
    )
    for of, part in parts:
        account = _account(passage, attacks, part, of)
        if account is not None and account.saved_bits > _PART_BITS:
            found.append(account)
    most = max((one.saved_bits for one in found), default=0.0)
    if most > saved + _PART_BITS:
        return [one for one in found if one.saved_bits > saved + _PART_BITS]
    together = sum(one.saved_bits for one in found)
    return found if together > saved + 2 * _PART_BITS else []


def _account(
    passage: Passage, attacks: Sequence[Attack], spelling: Spelling, of: Part
) -> _Account | None:
    """Find the riff or riffs of what is spelled out; `None` if that saves nothing."""
    plain_bits = float(spelling.bits.sum())
    ranked = [
        (templates, bits)
        for templates, bits in rank_template_sets(spelling, plain_bits)
        if bits + naming_bits(spelling, templates) < plain_bits
        and (of == "notes" or all(t.length >= _SHORTEST_PART for t in templates))
    ]
    if not ranked:
        return None
    best = _cells(spelling, ranked[0][0])
    bits = prices_of(spelling, [best])[best]
    full_bits = bits + naming_bits(spelling, best)
    if full_bits >= plain_bits:
        return None
    sets = [(best, bits), *different_sets(spelling, ranked)]
    steps = covers(spelling, [templates for templates, _ in sets])
    reader = Reader(passage, attacks, spelling, opening_bars(passage, attacks))
    read = [
        reader.readings(templates, own, price)
        for (templates, price), own in zip(sets, steps, strict=True)
    ]
    told = sorted((r for r in read[0] if len(r.passes) >= 2), key=_covered, reverse=True)
    others = read[1:]
    phrase = whole_phrase(passage, told, others, full_bits)
    if phrase is not None:
        others = [told, *others]
        told, full_bits = [phrase], phrase.bits
    return _Account(
        of=of,
        told=tuple((reading, *rivals_of(reading, others)) for reading in told),
        plain_bits=plain_bits,
        full_bits=full_bits,
    )


def _cells(spelling: Spelling, templates: TemplateSet) -> TemplateSet:
    return tuple(dict.fromkeys(cell_of(spelling, template) for template in templates))


def _covered(reading: Reading) -> Fraction:
    return sum((p.span.length_quarters for p in reading.passes), Fraction(0))


def framing_of(spelling: Spelling, first: int, length: int) -> int:
    """Count the attacks with which a stretch both begins and ends.

    Definition: the largest m, at most half of the stretch and at least 2, such that its first m
    attacks equal its last m. One attack over and over frames nothing, so two kinds are needed.

    Returns:
        0 if the stretch is not framed.
    """
    tokens = all_tokens(spelling)[first : first + length]
    for size in range(length // 2, 1, -1):
        head = tokens[:size]
        if np.array_equal(head, tokens[length - size :]) and len(set(head.tolist())) > 1:
            return size
    return 0


def _finding(
    passage: Passage,
    attacks: Sequence[Attack],
    spelling: Spelling,
    account: _Account,
    readings: tuple[Reading, ...],
) -> Finding:
    best = readings[0]
    covered = {attack for one in best.passes for _, attack in one.pairs}
    inside = [a.index for a in attacks if best.template.holds(a.onset_quarters)]
    framing = framing_of(spelling, inside[0], len(inside)) if account.of == "notes" else 0
    drift = drift_of(passage, best)
    moved = {one.transposition for one in best.passes}
    measures = {
        "passes": float(len(best.passes)),
        "complete_passes": float(sum(one.truncated == "none" for one in best.passes)),
        "edits": float(sum(len(one.edits) for one in best.passes)),
        "bits": round(account.full_bits, 6),
        "plain_bits": round(account.plain_bits, 6),
        "saved_bits": round(account.saved_bits, 6),
        "template_quarters": float(best.template.length_quarters),
        "covered_share": round(len(covered) / len(attacks), 6),
        "riffs": float(len(account.told)),
        "transpositions": float(len(moved - {0})),
        "framing_attacks": float(framing),
    }
    if drift is not None:
        measures["passes_until_bar_line"] = float(drift[0])
    return Finding(
        kind=Kind.PASSES,
        spans=tuple(one.span for one in best.passes),
        notes=tuple(sorted(i for attack in covered for i in attacks[attack].notes)),
        what=Passes(readings=readings, of=account.of),
        measures=measures,
        sentence=sentence_of(passage, best, of=account.of, riffs=len(account.told)),
        detail=detail_of(
            passage,
            readings,
            plain_bits=account.plain_bits,
            full_bits=account.full_bits,
            framing=framing,
        ),
    )
