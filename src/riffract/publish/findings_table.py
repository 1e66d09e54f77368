"""The findings of a study as a table, one a row."""

import csv
import io
from collections.abc import Sequence
from fractions import Fraction
from typing import Final

from riffract.essay.by_hand.measured import HandMeasured
from riffract.publish.answer import weights
from riffract.publish.plain_values import Json, number
from riffract.publish.set_by_hand import by_hand_row
from riffract.publish.wording import place_text
from riffract.weighing.study import Study, WeighedFinding

WEIGHTS: Final = ("p", "q", "effect", "log10_bayes", "null_model", "seed")
TABLE_COLUMNS: Final = (
    *("id", "kind", "verdict", "start_quarters", "end_quarters", "start_place", "spans"),
    *(*WEIGHTS, "sentence", "detail"),
)


def findings_table(study: Study, by_hand: Sequence[HandMeasured] = ()) -> str:
    """Write the findings as comma-separated values (RFC 4180), one a row, with a heading.

    `start_quarters` and `end_quarters` are the first span's, exact as in `7/2`; what does not exist
    is left empty. What was set by hand stands below the findings, its verdict `set_by_hand`.
    """
    out = io.StringIO(newline="")
    rows = csv.writer(out, lineterminator="\r\n")
    rows.writerow(TABLE_COLUMNS)
    told = [_row(study, weighed) for weighed in study.findings]
    told += [by_hand_row(one, study.passage) for one in by_hand]
    rows.writerows([_cell(row.get(name)) for name in TABLE_COLUMNS] for row in told)
    return out.getvalue()


def findings_columns(study: Study, by_hand: Sequence[HandMeasured] = ()) -> dict[str, list[Json]]:
    """Give the findings as columns of one length, ready for a data frame.

    Returns:
        The columns of the table, and `measures`, a dict of named numbers a row. Quarters are
        floats here; what does not exist is `None`. What was set by hand stands below the findings,
        with nothing in `measures`.
    """
    rows = [_row(study, weighed) for weighed in study.findings]
    rows += [by_hand_row(one, study.passage) for one in by_hand]
    columns = {name: [_as_float(row.get(name)) for row in rows] for name in TABLE_COLUMNS}
    measures = [
        {name: number(value) for name, value in weighed.finding.measures.items()}
        for weighed in study.findings
    ]
    measures += [{} for _ in by_hand]
    return {**columns, "measures": measures}


def _cell(value: Json) -> str:
    return "" if value is None else str(value)


def _as_float(value: Json) -> Json:
    return float(value) if isinstance(value, Fraction) else value


def _row(study: Study, weighed: WeighedFinding) -> dict[str, Json]:
    finding = weighed.finding
    first = finding.spans[0] if finding.spans else None
    numbers = weights(weighed)
    return {
        "id": finding.id,
        "kind": finding.kind.value,
        "verdict": weighed.verdict.value,
        "start_quarters": None if first is None else first.start_quarters,
        "end_quarters": None if first is None else first.end_quarters,
        "start_place": None if first is None else place_text(study.passage, first.start_quarters),
        "spans": len(finding.spans),
        **{name: numbers.get(name) for name in WEIGHTS},
        "sentence": finding.sentence,
        "detail": finding.detail,
    }
