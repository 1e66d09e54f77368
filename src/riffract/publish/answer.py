"""The answer of a study: everything that was found, as JSON for programs and as a table.

The shape is published beside this file as `study.schema.json`. Fields may be added to it; a field
that changes its name or meaning needs a new `SCHEMA` number.
"""

import csv
import io
import json
import math
from collections.abc import Mapping
from fractions import Fraction
from functools import singledispatch
from importlib.resources import files
from typing import Any, Final

import msgspec

from riffract import __version__
from riffract.analysis.finding import (
    Anchor,
    AttackContent,
    Collection,
    CollectionChange,
    Deviation,
    Drone,
    Edit,
    Gesture,
    Mirror,
    Passes,
    Reading,
    Sonority,
    What,
)
from riffract.music import Note, Passage, Span, TempoMark
from riffract.weighing.study import Rival, Study, WeighedFinding

SCHEMA: Final = 1
_SIGNIFICANT_DIGITS = 12

Json = Any
"""What JSON can hold: str, int, float, bool, None, and lists and str-keyed dicts of these."""


def answer(study: Study) -> dict[str, Json]:
    """Give a study as plain values, ready for JSON.

    Quarters are exact strings (`7/2`, `4`), spans half-open pairs of them, pitches MIDI (`None`
    for a dead note), and notes are indices into `passage.notes`. The same study always gives the
    same answer, in the same order.
    """
    ids = frozenset(weighed.finding.id for weighed in study.findings)
    return {
        "riffract": __version__,
        "schema": SCHEMA,
        "passage": _passage(study.passage),
        "ignored": [{"what": i.what, "why": i.why, "where": i.where} for i in study.ignored],
        "findings": [_finding(weighed, ids) for weighed in study.findings],
    }


def answer_text(study: Study) -> str:
    """Write the answer as JSON text, indented, with a line end at its end."""
    return msgspec.json.format(msgspec.json.encode(answer(study)), indent=1).decode() + "\n"


def answer_schema() -> dict[str, Json]:
    """Give the published JSON Schema (draft 2020-12) of the answer."""
    text = files(__package__).joinpath("study.schema.json").read_text(encoding="utf-8")
    schema: dict[str, Json] = json.loads(text)
    return schema


TABLE_COLUMNS: Final = (
    "id", "kind", "verdict", "start_quarters", "end_quarters", "start_place", "spans",
    "p", "q", "effect", "log10_bayes", "null_model", "seed", "sentence", "detail",
)  # fmt: skip


def findings_table(study: Study) -> str:
    """Write the findings as comma-separated values (RFC 4180), one a row, with a heading.

    `start_quarters` and `end_quarters` are the first span's; a number that does not exist is left
    empty.
    """
    out = io.StringIO(newline="")
    rows = csv.writer(out, lineterminator="\r\n")
    rows.writerow(TABLE_COLUMNS)
    rows.writerows(_table_row(study.passage, weighed) for weighed in study.findings)
    return out.getvalue()


def _table_row(passage: Passage, weighed: WeighedFinding) -> list[str]:
    finding = weighed.finding
    first = finding.spans[0] if finding.spans else None
    numbers = _weights(weighed)
    return [
        finding.id,
        finding.kind.value,
        weighed.verdict.value,
        "" if first is None else str(first.start_quarters),
        "" if first is None else str(first.end_quarters),
        "" if first is None else str(passage.place(first.start_quarters)),
        str(len(finding.spans)),
        *(str(numbers.get(name, "")) for name in TABLE_COLUMNS[7:13]),
        finding.sentence,
        finding.detail,
    ]


def _passage(passage: Passage) -> dict[str, Json]:
    return {
        "title": passage.title,
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
        "quarters_per_minute": _number(mark.quarters_per_minute),
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
        "spans": [_span(span) for span in finding.spans],
        "notes": list(finding.notes),
        "what": what_as_json(finding.what),
        "measures": _rounded(finding.measures) | _weights(weighed),
        "verdict": weighed.verdict.value,
        "rivals": [_rival(rival, ids) for rival in weighed.rivals],
        "sentence": finding.sentence,
        "detail": finding.detail,
    }


def _weights(weighed: WeighedFinding) -> dict[str, Json]:
    """Give the numbers of the weighing that exist, with null model and seed."""
    weights: dict[str, Json] = {}
    chance = weighed.chance
    if chance is not None:
        weights["p"] = _number(chance.p)
        if weighed.q is not None:
            weights["q"] = _number(weighed.q)
        if len(chance.draws) > 1:
            weights["effect"] = _number(chance.effect)
        weights["null_model"] = chance.model
        weights["seed"] = chance.seed
    if weighed.log10_bayes is not None:
        weights["log10_bayes"] = _number(weighed.log10_bayes)
    return weights


def _rival(rival: Rival, ids: frozenset[str]) -> dict[str, Json]:
    name = "id" if rival.description in ids else "description"
    return {name: rival.description, "bits": _number(rival.bits)}


@singledispatch
def what_as_json(what: What) -> dict[str, Json]:
    """Give the record of one kind of finding as plain values."""
    raise TypeError(f"no JSON is defined for {type(what).__name__}")


@what_as_json.register
def _passes(what: Passes) -> dict[str, Json]:
    return {"readings": [_reading(reading) for reading in what.readings]}


def _reading(reading: Reading) -> dict[str, Json]:
    return {
        "template": _span(reading.template),
        "passes": [
            {
                "span": _span(one.span),
                "edits": [_edit(edit) for edit in one.edits],
                "truncated": one.truncated,
            }
            for one in reading.passes
        ],
        "other": [{"span": _span(other.span), "role": other.role} for other in reading.other],
        "bits": _number(reading.bits),
    }


def _edit(edit: Edit) -> dict[str, Json]:
    return {
        "op": edit.op,
        "at": str(edit.at_quarters),
        "expected": _content(edit.expected),
        "found": _content(edit.found),
    }


@what_as_json.register
def _mirror(what: Mirror) -> dict[str, Json]:
    return {
        "of": what.of,
        "axis": str(what.axis_quarters),
        "axis_pitch": None if what.axis_pitch is None else str(what.axis_pitch),
        "core_quarters": str(what.core_quarters),
        "reach_quarters": str(what.reach_quarters),
        "left": _span(what.left),
        "right": _span(what.right),
        "limb_ratio": _number(what.limb_ratio),
        "scale": _number(what.scale),
        "deviations": [_deviation(deviation) for deviation in what.deviations],
    }


def _deviation(deviation: Deviation) -> dict[str, Json]:
    return {
        "at": str(deviation.at_quarters),
        "expected": _content(deviation.expected),
        "found": _content(deviation.found),
    }


@what_as_json.register
def _gesture(what: Gesture) -> dict[str, Json]:
    return {
        "limbs": [
            {
                "span": _span(limb.span),
                "direction": limb.direction,
                "semitones": limb.semitones,
                "slope": _number(limb.slope),
            }
            for limb in what.limbs
        ],
        "ratio": None if what.ratio is None else _number(what.ratio),
        "contour": list(what.contour),
    }


@what_as_json.register
def _sonority(what: Sonority) -> dict[str, Json]:
    return {
        "prime_form": list(what.prime_form),
        "forte": what.forte,
        "how": what.how,
        "occurrences": [_span(span) for span in what.occurrences],
        "share": _number(what.share),
        "is_first_sound": what.is_first_sound,
    }


@what_as_json.register
def _collection(what: Collection) -> dict[str, Json]:
    return {
        "family": what.family,
        "form": what.form,
        "pcs": list(what.pcs),
        "fragment": what.fragment,
        "inside_share": _number(what.inside_share),
        "foreign": [{"at": str(note.at_quarters), "pc": note.pc} for note in what.foreign],
        "missing": list(what.missing),
        "with_drone": what.with_drone,
    }


@what_as_json.register
def _collection_change(what: CollectionChange) -> dict[str, Json]:
    return {
        "from": what.from_form,
        "to": what.to_form,
        "at": str(what.at_quarters),
        "common_pcs": list(what.common_pcs),
        "transposition": what.transposition,
    }


@what_as_json.register
def _drone(what: Drone) -> dict[str, Json]:
    return {
        "string": what.string,
        "pitch": what.pitch,
        "open": what.is_open,
        "position": what.position,
        "colours": [
            {"at": str(colour.at_quarters), "semitones": colour.semitones, "name": colour.name}
            for colour in what.colours
        ],
    }


@what_as_json.register
def _anchor(what: Anchor) -> dict[str, Json]:
    return {
        "pitch": what.pitch,
        "intervals": {
            str(semitones): {"count": tally.count, "quarters": str(tally.quarters)}
            for semitones, tally in what.intervals.items()
        },
        "timeline": [str(onset) for onset in what.timeline],
    }


def _content(content: AttackContent | None) -> dict[str, Json] | None:
    if content is None:
        return None
    return {"pitches": list(content.pitches), "quarters": str(content.value_quarters)}


def _span(span: Span) -> list[str]:
    return [str(span.start_quarters), str(span.end_quarters)]


def _rounded(measures: Mapping[str, float]) -> dict[str, Json]:
    return {name: _number(value) for name, value in measures.items()}


def _number(value: float | Fraction) -> float | int | None:
    """Round to 12 significant digits, so that the last bits of a sum cannot change an answer.

    JSON has neither infinity nor "not a number": both become `None`.

    >>> _number(0.1 + 0.2), _number(7), _number(float("inf"))
    (0.3, 7, None)
    """
    if isinstance(value, int):
        return value
    if not math.isfinite(value):
        return None
    return float(f"{float(value):.{_SIGNIFICANT_DIGITS}g}")
