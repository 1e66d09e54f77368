"""The answer of a study: everything that was found, as JSON for programs.

The shape is published beside this file as `study.schema.json`. Fields may be added to it; a field
that changes its name or meaning needs a new `SCHEMA` number.
"""

import json
from collections.abc import Mapping, Sequence
from fractions import Fraction
from importlib.resources import files
from typing import Final

import msgspec

from riffract import __version__
from riffract.essay.by_hand.measured import HandMeasured
from riffract.music import Note, Passage, TempoMark
from riffract.publish.answer_what import what_as_json
from riffract.publish.plain_values import Json, number, span_as_json
from riffract.publish.set_by_hand import by_hand_as_json
from riffract.weighing.study import Rival, Study, WeighedFinding

SCHEMA: Final = 1


def answer(
    study: Study,
    *,
    from_quarters: Fraction | None = None,
    by_hand: Sequence[HandMeasured] = (),
) -> dict[str, Json]:
    """Give a study as plain values, ready for JSON.

    Quarters are exact strings (`7/2`, `4`), spans half-open pairs of them, pitches MIDI (`None`
    for a dead note), and notes are indices into `passage.notes`. The same study always gives the
    same answer, in the same order.

    Args:
        study: what was found.
        from_quarters: where the studied bars start in the music they were cut out of; quarters in
            the answer count from there.
        by_hand: what the analyst has set by hand; told apart from the findings.
    """
    ids = frozenset(weighed.finding.id for weighed in study.findings)
    return {
        "riffract": __version__,
        "schema": SCHEMA,
        "language": study.language.code,
        **({"own_words": True} if study.language.has_own_words else {}),
        "passage": _passage(study.passage, from_quarters),
        "ignored": [{"what": i.what, "why": i.why, "where": i.where} for i in study.ignored],
        "asked": study.asked,
        "findings": [_finding(weighed, ids) for weighed in study.findings],
        **({"by_hand": by_hand_as_json(by_hand)} if by_hand else {}),
    }


def answer_text(
    study: Study,
    *,
    from_quarters: Fraction | None = None,
    by_hand: Sequence[HandMeasured] = (),
) -> str:
    """Write the answer as JSON text, indented, with a line end at its end."""
    told = answer(study, from_quarters=from_quarters, by_hand=by_hand)
    return msgspec.json.format(msgspec.json.encode(told), indent=1).decode() + "\n"


def answer_schema() -> dict[str, Json]:
    """Give the published JSON Schema (draft 2020-12) of the answer."""
    text = files(__package__).joinpath("study.schema.json").read_text(encoding="utf-8")
    schema: dict[str, Json] = json.loads(text)
    return schema


def _passage(passage: Passage, from_quarters: Fraction | None) -> dict[str, Json]:
    return {
        "title": passage.title,
        **({"from": str(from_quarters)} if from_quarters else {}),
        "quarters": str(passage.length_quarters),
        "tuning": list(passage.tuning.open_pitches),
        "capo": passage.tuning.capo,
        "metres": _metres(passage),
        "tempo": [_tempo(mark) for mark in passage.tempos],
        "notes": [_note(passage, note) for note in passage.notes],
    }


def _metres(passage: Passage) -> list[Json]:
    """List the metres where they change; a bar shorter than its metre is a pick-up."""
    changes = []
    before = None
    for bar in passage.bars:
        if bar.metre != before:
            changes.append(
                {
                    "bar": bar.number,
                    "at": str(bar.start_quarters),
                    "metre": bar.metre.label(),
                    "groups": list(bar.metre.groups),
                }
            )
            before = bar.metre
    return changes


def _tempo(mark: TempoMark) -> dict[str, Json]:
    """Give a tempo mark; `is_ramp` only where the tempo changes steadily up to the next mark."""
    return {
        "at": str(mark.at_quarters),
        "quarters_per_minute": number(mark.quarters_per_minute),
        **({"is_ramp": True} if mark.is_ramp else {}),
    }


def _note(passage: Passage, note: Note) -> dict[str, Json]:
    """Give a note; the way of a bend, another fret and tremolo marks only where there are any."""
    place = passage.place(note.onset_quarters)
    given: dict[str, Json] = {
        "onset": str(note.onset_quarters),
        "duration": str(note.duration_quarters),
        "ring_end": str(note.ring_end_quarters),
        "string": note.string,
        "fret": note.fret,
        "pitch": note.pitch,
        "techniques": list(note.techniques.labels),
        "bar": place.bar,
        "beat": str(place.beat),
    }
    if note.bend:
        given["bend"] = list(note.bend)
    if note.other_fret is not None:
        given["other_fret"] = note.other_fret
    if note.tremolo_marks:
        given["tremolo_marks"] = note.tremolo_marks
    return given


def _finding(weighed: WeighedFinding, ids: frozenset[str]) -> dict[str, Json]:
    finding = weighed.finding
    return {
        "id": finding.id,
        "kind": finding.kind.value,
        "spans": [span_as_json(span) for span in finding.spans],
        "notes": list(finding.notes),
        "what": what_as_json(finding.what),
        "measures": _rounded(finding.measures) | weights(weighed),
        "verdict": weighed.verdict.value,
        "survives": weighed.survives,
        "carried_by": weighed.carried_by,
        "rivals": [_rival(rival, ids) for rival in weighed.rivals],
        "follows_from": list(weighed.follows_from),
        "sentence": finding.sentence,
        "detail": finding.detail,
    }


def weights(weighed: WeighedFinding) -> dict[str, Json]:
    """Give the numbers of the weighing that exist, with null model and seed."""
    weights: dict[str, Json] = {}
    chance = weighed.chance
    if chance is not None:
        weights["p"] = number(chance.p)
        if weighed.q is not None:
            weights["q"] = number(weighed.q)
        if len(chance.draws) > 1:
            weights["effect"] = number(chance.effect)
        weights["null_model"] = chance.model
        weights["seed"] = chance.seed
    if weighed.log10_bayes is not None:
        weights["log10_bayes"] = number(weighed.log10_bayes)
    return weights


def _rival(rival: Rival, ids: frozenset[str]) -> dict[str, Json]:
    name = "id" if rival.description in ids else "description"
    return {name: rival.description, "bits": number(rival.bits)}


def _rounded(measures: Mapping[str, float]) -> dict[str, Json]:
    return {name: number(value) for name, value in measures.items()}
