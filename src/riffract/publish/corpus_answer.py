"""The answers of `compare` and `corpus build`, as JSON for programs.

Their shapes are published beside this file as `comparison.schema.json` and `corpus.schema.json`.
Fields may be added; a field that changes its name or meaning needs a new schema number.
"""

import json
from collections.abc import Sequence
from importlib.resources import files
from typing import Final

import msgspec

from riffract import __version__
from riffract.analysis.finding import Ignored
from riffract.essay.corpus.build import Built
from riffract.essay.folder import FileProblem
from riffract.publish.plain_values import Json, number
from riffract.weighing.comparing.comparison import Comparison, CorpusNote, Likeness
from riffract.weighing.comparing.standing import Standing

COMPARISON_SCHEMA: Final = 1
CORPUS_SCHEMA: Final = 1


def comparison_answer(
    comparison: Comparison, *, title: str, left_out: Sequence[Ignored] = ()
) -> dict[str, Json]:
    """Give a comparison as plain values; shares are 0..1.

    Args:
        comparison: the comparison.
        title: of the passage.
        left_out: what of the passage was not measured, or not in full.
    """
    return {
        "riffract": __version__,
        "schema": COMPARISON_SCHEMA,
        "title": title,
        "corpus": _corpus(comparison.corpus),
        "window_attacks": comparison.window_attacks,
        "windows": comparison.windows,
        "distance": number(comparison.distance),
        "as_far_share": number(comparison.as_far_share),
        "sentence": comparison.sentence,
        "caution": comparison.caution,
        "ignored": [{"what": one.what, "where": one.where} for one in left_out],
        "measures": [_standing(s) for s in comparison.standings],
        "by_measures": [_likeness(one) for one in comparison.by_measures],
        "by_line": [_likeness(one) for one in comparison.by_line],
    }


def corpus_answer(built: Built) -> dict[str, Json]:
    """Give what a build did as plain values."""
    return {
        "riffract": __version__,
        "schema": CORPUS_SCHEMA,
        "index": str(built.index),
        "title": built.title,
        "provenance": built.provenance,
        "files": {
            "found": built.found,
            "fresh": built.fresh,
            "removed": built.removed,
            "read": built.read,
            "too_short": built.too_short,
            "copies": built.copies,
            "broken": built.broken,
            "for_strings": built.for_strings,
        },
        "passages": {str(attacks): count for attacks, count in built.passages.items()},
        "problems": [_problem(p) for p in built.problems],
    }


def as_text(answer: dict[str, Json]) -> str:
    """Write an answer as JSON text, indented, with a line end at its end."""
    return msgspec.json.format(msgspec.json.encode(answer), indent=1).decode() + "\n"


def schema_of(name: str) -> dict[str, Json]:
    """Give a published JSON Schema (draft 2020-12): `comparison`, `corpus` or `hearing`."""
    text = files(__package__).joinpath(f"{name}.schema.json").read_text(encoding="utf-8")
    schema: dict[str, Json] = json.loads(text)
    return schema


def _corpus(note: CorpusNote) -> dict[str, Json]:
    usual = note.usual_distance
    return {
        "title": note.title,
        "provenance": note.provenance,
        "files": note.files,
        "pieces": note.pieces,
        "passages": note.passages,
        "for_strings_share": number(note.for_strings_share),
        "uneven_metre_share": number(note.uneven_metre_share),
        "usual_distance": None if usual is None else number(usual),
        "left_out": note.left_out,
        "unfit": list(note.unfit),
    }


def _standing(standing: Standing) -> dict[str, Json]:
    measure = standing.measure
    return {
        "name": measure.name,
        "unit": measure.unit.value,
        "phrase": measure.phrase,
        "definition": measure.definition,
        "source": measure.source,
        "value": number(standing.value),
        "lowest": number(standing.lowest),
        "highest": number(standing.highest),
        "rank_share": number(standing.rank_share),
        "as_high_share": number(standing.as_high_share),
        "as_low_share": number(standing.as_low_share),
        "is_remarkable": standing.is_remarkable,
        "sentence": standing.sentence,
    }


def _likeness(one: Likeness) -> dict[str, Json]:
    return {
        "file": one.file,
        "part": one.part,
        "title": one.title,
        "first_bar": one.first_bar,
        "last_bar": one.last_bar,
        "distance": number(one.distance),
        "turns_share": number(one.turns_share),
        "shared": [measure.name for measure in one.shared],
    }


def _problem(said: FileProblem) -> dict[str, Json]:
    p = said.problem
    return {
        "file": said.file,
        "what": p.what,
        "mend": p.mend,
        "line": p.line,
        "column": p.column,
        "place": p.place,
    }
