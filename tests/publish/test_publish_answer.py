"""The answer of a study: its shape, its exactness, its table."""

import csv
import io
import json
from collections.abc import Callable
from dataclasses import replace
from fractions import Fraction
from typing import Any

import jsonschema
import pytest
from bench import plants
from hypothesis import given
from hypothesis import strategies as st
from tests.publish_fakes import small_study, small_whats, weighed

from riffract import __version__
from riffract.analysis.finding import Kind
from riffract.formats.tab import read_tab
from riffract.music import NoteTableBuilder, Technique, TempoMark
from riffract.publish.answer import (
    answer,
    answer_schema,
    answer_text,
)
from riffract.publish.answer_what import what_as_json
from riffract.publish.findings_table import TABLE_COLUMNS, findings_table
from riffract.weighing.study import Rival, Study, Verdict
from riffract.weighing.weigh import study_passage

# The table of fields that the project's design fixes for each kind of finding.
PROMISED_FIELDS = {
    Kind.PASSES: {"of", "readings"},
    Kind.MIRROR: {
        "of", "axis", "axis_pitch", "core_quarters", "reach_quarters", "left", "right",
        "limb_ratio", "scale", "deviations", "nested", "inside", "follows_from",
    },
    Kind.GESTURE: {"limbs", "ratio", "contour"},
    Kind.SONORITY: {
        "prime_form", "forte", "how", "occurrences", "share", "is_first_sound", "forte_form",
        "ways_up", "with_ringing",
    },
    Kind.COLLECTION: {
        "family", "form", "pcs", "fragment", "inside_share", "foreign", "missing", "with_drone",
        "also_in", "by_attacks", "by_time", "with_ringing",
    },
    Kind.COLLECTION_CHANGE: {
        "from", "to", "at", "common_pcs", "transposition", "same_family", "places", "from_limbs",
        "to_limbs",
    },
    Kind.DRONE: {
        "string", "pitch", "open", "position", "colours", "totals", "crossings", "only_with_it",
        "turns", "rough", "other_strings",
    },
    Kind.ANCHOR: {"pitch", "intervals", "timeline", "is_lowest_open", "emphasis"},
    Kind.MOTIVE: {
        "source", "return", "transform", "inserted", "dropped", "changed",
        "goes_on", "is_free", "family", "stage", "scale_steps", "scale",
    },
    Kind.PATTERN: {"space", "vectors", "occurrences"},
    Kind.HAND: {
        "shapes", "path", "path_cost", "written_cost", "explains_share", "explains",
        "wide_stretches",
    },
    Kind.METRE: {
        "grouping", "phase", "meets_after", "density", "evenness", "off_beat_share",
        "pulse", "cycle", "cycle_pulses", "tuplets",
    },
}  # fmt: skip


@pytest.fixture(scope="module")
def study() -> Study:
    return small_study()


@pytest.fixture(scope="module")
def validator() -> Any:
    schema = answer_schema()
    jsonschema.Draft202012Validator.check_schema(schema)
    return jsonschema.Draft202012Validator(schema)


TURNING = """
title: Weir
tuning: B1 F#2 B2 E3 G#3 C#4
metre: 11/8 = 3+3+3+2
tempo: q = 132

time   e  e  e  e  e  e  e  e  e  e  e     e  e  e  e  e  e  e  e  e  e  e
C#   |-----------------------------------|-----------------------------------|
G#   |-----------------------------------|-----------------------------------|
E    |-------2-----1-----2-----4---------|-------4-----2-----1-----2---------|
B    |----4-----5-----4-----2-----1------|----1-----2-----4-----5-----4------|
F#   |-----------------------------------|-----------------------------------|
B    |-0-----------------------------0---|-0-----------------------------0---|

time   e  e  e  e  e  e  e  e  e  e  e     e  e  e  e  e  e  e  e  e  e  e
C#   |-----------------------------------|-----------------------------------|
G#   |-----------------------------------|-----------------------------------|
E    |-------2-----1-----2-----4---------|-------4-----2-----1-----2---------|
B    |----4-----5-----4-----2-----3------|----1-----2-----4-----5-----4------|
F#   |-----------------------------------|-----------------------------------|
B    |-0-----------------------------0---|-0-----------------------------0---|

time   e  e  e  e  e  e  e  e  e  e  e     e  e  e  e  e  e  e  e  e  e  e
C#   |-----------------------------------|-----------------------------------|
G#   |-----------------------------------|-----------------------------------|
E    |-------2-----1-----2-----4---------|-------4-----2-----1-----2---------|
B    |----4-----5-----4-----2-----1------|----1-----2-----4-----5-----4------|
F#   |-----------------------------------|-----------------------------------|
B    |-0-----------------------------0---|-0-----------------------------0---|
"""


def test_the_answer_of_a_mirror_that_one_note_could_break_obeys_its_published_schema(
    validator: Any,
) -> None:
    passage = read_tab(TURNING).passage
    assert passage is not None
    validator.validate(json.loads(answer_text(study_passage(passage))))


@pytest.mark.parametrize(
    "plant", [plants.mirror_of_passes, plants.retrograde, plants.crossing_drone]
)
def test_the_answer_of_a_whole_passage_obeys_its_published_schema(
    plant: Callable[[int], plants.Plant], validator: Any
) -> None:
    for seed in range(3):
        validator.validate(json.loads(answer_text(study_passage(plant(seed).music))))


def test_the_answer_obeys_its_published_schema(study: Study, validator: Any) -> None:
    validator.validate(json.loads(answer_text(study)))


def test_text_and_values_are_the_same_answer(study: Study) -> None:
    assert json.loads(answer_text(study)) == answer(study)


@pytest.mark.parametrize("kind", list(Kind))
def test_each_kind_has_exactly_the_promised_fields(kind: Kind) -> None:
    assert set(what_as_json(small_whats()[kind])) == PROMISED_FIELDS[kind]


def test_the_heading_is_the_promised_one(study: Study) -> None:
    given = answer(study)
    assert list(given) == [
        "riffract", "schema", "language", "passage", "ignored", "asked", "findings"
    ]  # fmt: skip
    assert given["riffract"] == __version__
    assert set(given["findings"][0]) == {
        "id", "kind", "spans", "notes", "what", "measures", "verdict", "survives", "carried_by",
        "rivals", "follows_from", "sentence", "detail",
    }  # fmt: skip


def test_times_are_exact_strings(study: Study) -> None:
    notes = answer(study)["passage"]["notes"]
    assert notes[0]["onset"] == "0"
    assert {"29/6", "31/6"} <= {note["onset"] for note in notes}  # two of a triplet's thirds
    assert [note["duration"] for note in notes].count("1/3") == 6
    assert answer(study)["passage"]["quarters"] == "12"


def test_a_dead_note_has_no_pitch_and_a_harmonic_its_sounding_one(study: Study) -> None:
    notes = answer(study)["passage"]["notes"]
    dead = [note for note in notes if "dead" in note["techniques"]]
    assert [note["pitch"] for note in dead] == [None, None]
    harmonics = [note for note in notes if "natural_harmonic" in note["techniques"]]
    assert {note["pitch"] for note in harmonics} == {56 + 12}


def test_a_place_is_bar_as_played_and_beat_in_units_of_the_metre(study: Study) -> None:
    notes = answer(study)["passage"]["notes"]
    muted = next(note for note in notes if "palm_mute" in note["techniques"])
    assert (muted["bar"], muted["beat"]) == (2, "1")
    third = next(note for note in notes if note["onset"] == "29/6")
    assert (third["bar"], third["beat"]) == (2, "11/3")


def test_a_note_says_how_it_is_bent_trilled_and_struck_only_where_it_is(
    study: Study, validator: Any
) -> None:
    builder = NoteTableBuilder()
    ways: list[dict[str, Any]] = [
        {"bend": (0, 150, 0)},
        {"techniques": Technique.TRILL, "other_fret": 0},
        {"tremolo_marks": 3},
        {},
    ]
    for at, way in enumerate(ways):
        start, length = Fraction(at), Fraction(1)
        builder.add(
            onset_quarters=start, duration_quarters=length, string=1, fret=2, pitch=67, **way
        )
    given = answer(replace(study, passage=replace(study.passage, notes=builder.build())))
    validator.validate(json.loads(json.dumps(given)))
    names = ("bend", "other_fret", "tremolo_marks")
    assert [{k: note[k] for k in names if k in note} for note in given["passage"]["notes"]] == [
        {"bend": [0, 150, 0]},
        {"other_fret": 0},
        {"tremolo_marks": 3},
        {},
    ]


def test_all_techniques_are_in_the_published_schema() -> None:
    note = answer_schema()["$defs"]["note"]["properties"]
    listed = note["techniques"]["items"]["enum"]
    assert listed == [label for flag in Technique for label in flag.labels]


def test_a_ramp_is_told_where_there_is_one(study: Study, validator: Any) -> None:
    marks = (
        TempoMark(at_quarters=Fraction(0), quarters_per_minute=90.0, is_ramp=True),
        TempoMark(at_quarters=Fraction(4), quarters_per_minute=120.0),
    )
    given = answer(replace(study, passage=replace(study.passage, tempos=marks)))
    validator.validate(json.loads(json.dumps(given)))
    assert given["passage"]["tempo"] == [
        {"at": "0", "quarters_per_minute": 90.0, "is_ramp": True},
        {"at": "4", "quarters_per_minute": 120.0},
    ]


def test_metres_are_listed_where_they_change(study: Study) -> None:
    assert answer(study)["passage"]["metres"] == [
        {"bar": 1, "at": "0", "metre": "7/8", "groups": [2, 2, 3]},
        {"bar": 2, "at": "7/2", "metre": "5/8", "groups": [3, 2]},
        {"bar": 3, "at": "6", "metre": "7/8", "groups": [2, 2, 3]},
        {"bar": 4, "at": "19/2", "metre": "5/8", "groups": [3, 2]},
    ]


def test_an_edit_tells_what_was_expected_and_what_was_found() -> None:
    edits = what_as_json(small_whats()[Kind.PASSES])["readings"][0]["passes"][1]["edits"]
    assert edits[0] == {
        "op": "substitute",
        "at": "13/2",
        "expected": {"pitches": [62], "quarters": "1/2"},
        "found": {"pitches": [63], "quarters": "1/2"},
    }
    assert edits[1]["found"] is None


def test_a_mirror_axis_between_two_pitches_stays_exact() -> None:
    assert what_as_json(small_whats()[Kind.MIRROR])["axis_pitch"] == "121/2"


def test_measures_hold_the_weighing_with_model_and_seed(study: Study) -> None:
    found = {f["kind"]: f["measures"] for f in answer(study)["findings"]}
    assert found["mirror"] == {
        "agreement_share": 0.3,  # 0.1 + 0.2, without the last bits of the sum
        "length_quarters": 6.0,
        "p": pytest.approx(1 / 101, rel=1e-11),
        "q": 0.0198,
        "effect": pytest.approx(2.875 / 0.546875**0.5, rel=1e-11),
        "null_model": "rhythm kept, pitches reordered",
        "seed": 11,
    }
    assert found["collection"]["log10_bayes"] == 2.25
    assert not {"p", "q", "effect", "null_model", "seed"} & set(found["drone"])


def test_an_exact_p_value_has_no_effect_size(study: Study) -> None:
    one = weighed(Kind.MIRROR)
    assert one.chance is not None
    exact = replace(one, chance=replace(one.chance, draws=(), exact_p=0.25))
    measures = answer(replace(study, findings=(exact,)))["findings"][0]["measures"]
    assert measures["p"] == 0.25
    assert "effect" not in measures


def test_rivals_are_ids_where_they_are_findings(study: Study) -> None:
    other = study.findings[1].finding.id
    rivalled = replace(
        study.findings[0],
        rivals=(Rival(description=other, bits=1.5), Rival(description="in words", bits=2.0)),
    )
    given = answer(replace(study, findings=(rivalled, *study.findings[1:])))
    assert given["findings"][0]["rivals"] == [
        {"id": other, "bits": 1.5},
        {"description": "in words", "bits": 2.0},
    ]


@pytest.mark.parametrize("value", [float("nan"), float("inf"), float("-inf")])
def test_a_number_that_json_lacks_becomes_null(study: Study, value: float, validator: Any) -> None:
    one = replace(weighed(Kind.COLLECTION), log10_bayes=value)
    text = answer_text(replace(study, findings=(one,)))
    given = json.loads(text, parse_constant=lambda word: pytest.fail(f"{word} is not JSON"))
    assert given["findings"][0]["measures"]["log10_bayes"] is None
    validator.validate(given)


def test_the_answer_is_the_same_each_time(study: Study) -> None:
    assert answer_text(study) == answer_text(small_study())


def _set(path: str, value: object) -> Any:
    *way, last = path.split(".")

    def change(given: Any) -> None:
        for step in way:
            given = given[int(step) if step.isdigit() else step]
        if value is ...:
            del given[last]
        else:
            given[int(last) if last.isdigit() else last] = value

    return pytest.param(change, id=path)


@pytest.mark.parametrize(
    "spoil",
    [
        _set("schema", 2),
        _set("passage.quarters", 12),
        _set("passage.quarters", "3.5"),
        _set("passage.notes.0.pitch", 128),
        _set("passage.notes.0.onset", "07"),
        _set("passage.notes.0.techniques", ["tapping"]),
        _set("passage.notes.0.string", 0),
        _set("passage.notes.0.bend", []),
        _set("passage.notes.0.tremolo_marks", 0),
        _set("passage.tuning", [40, 45, 50]),
        _set("findings.0.verdict", "certain"),
        _set("findings.0.kind", "melody"),
        _set("findings.0.kind", "mirror"),  # the fields of another kind do not do
        _set("findings.0.sentence", ...),
        _set("findings.0.spans.0", ["0"]),
        _set("findings.0.what.readings.0.passes.1.edits.0.op", "swap"),
        _set("findings.1.what.axis", ...),
        _set("findings.1.what.axis", 3.5),
        _set("findings.1.measures.null_model", ...),
        _set("findings.1.measures.p", "0.01"),
        _set("findings.1.rivals.0.description", ...),
        _set("findings.2.what.limbs.0.direction", "down"),
        _set("findings.3.what.prime_form", [0, 1, 12]),
        _set("findings.5.what.to", ...),
        _set("findings.7.what.intervals", {"tritone": {"count": 1, "quarters": "1"}}),
    ],
)
def test_the_schema_refuses_what_was_not_promised(
    study: Study, validator: Any, spoil: Callable[[Any], None]
) -> None:
    given = json.loads(answer_text(study))
    spoil(given)
    assert not validator.is_valid(given)


def _names_in(schema: Any) -> set[str]:
    if isinstance(schema, dict):
        own = (
            set(schema.get("properties", {}))
            if isinstance(schema.get("properties"), dict)
            else set()
        )
        return own.union(*(_names_in(value) for value in schema.values()))
    if isinstance(schema, list):
        return set().union(*(_names_in(value) for value in schema))
    return set()


def _keys_in(value: Any) -> set[str]:
    if isinstance(value, dict):
        return set(value).union(*(_keys_in(v) for v in value.values()))
    if isinstance(value, list):
        return set().union(*(_keys_in(v) for v in value))
    return set()


def test_every_field_that_is_written_is_in_the_schema(study: Study) -> None:
    given = answer(study)
    for finding in given["findings"]:
        finding["measures"] = {}
        finding["what"].pop("intervals", None)
    assert _keys_in(given) <= _names_in(answer_schema()) | {"intervals"}


def test_schema_and_code_name_the_same_verdicts_and_kinds() -> None:
    finding = answer_schema()["$defs"]["finding"]["properties"]
    assert finding["verdict"]["enum"] == [verdict.value for verdict in Verdict]
    assert finding["kind"]["enum"] == [kind.value for kind in Kind]


def test_the_table_is_read_back_by_the_csv_standard_reader(study: Study) -> None:
    rows = list(csv.DictReader(io.StringIO(findings_table(study), newline="")))
    assert len(rows) == len(study.findings)
    assert tuple(rows[0]) == TABLE_COLUMNS
    by_kind = {row["kind"]: row for row in rows}
    assert by_kind["mirror"]["start_place"] == "bar 1, beat 1"
    assert by_kind["mirror"]["q"] == "0.0198"
    assert by_kind["drone"]["p"] == ""
    assert by_kind["passes"]["sentence"] == study.findings[0].finding.sentence


@given(st.text(max_size=60))
def test_any_words_survive_the_table(words: str) -> None:
    cleaned = words.replace("\x00", "")
    study = replace(small_study(), findings=(weighed(Kind.DRONE, sentence=cleaned or "x"),))
    rows = list(csv.reader(io.StringIO(findings_table(study), newline="")))
    assert rows[1][TABLE_COLUMNS.index("sentence")] == (cleaned or "x")


@given(st.fractions())
def test_exact_strings_read_back_as_the_same_fraction(value: Fraction) -> None:
    assert Fraction(str(value)) == value
