"""The findings of a study as a table, one a row."""

import csv
import io
from fractions import Fraction
from typing import Final

from riffract.publish.answer import weights
from riffract.publish.plain_values import Json, number
from riffract.weighing.study import Study, WeighedFinding

WEIGHTS: Final = ("p", "q", "effect", "log10_bayes", "null_model", "seed")
TABLE_COLUMNS: Final = (
    *("id", "kind", "verdict", "start_quarters", "end_quarters", "start_place", "spans"),
    *(*WEIGHTS, "sentence", "detail"),
)


def findings_table(study: Study) -> str:
    """Write the findings as comma-separated values (RFC 4180), one a row, with a heading.

    `start_quarters` and `end_quarters` are the first span's, exact as in `7/2`; what does not exist
    is left empty.
    """
    out = io.StringIO(newline="")
    rows = csv.writer(out, lineterminator="\r\n")
    rows.writerow(TABLE_COLUMNS)
    rows.writerows(
        ["" if value is None else str(value) for value in _row(study, weighed).values()]
        for weighed in study.findings
    )
    return out.getvalue()


def findings_columns(study: Study) -> dict[str, list[Json]]:
    """Give the findings as columns of one length, ready for a data frame.

    Returns:
        The columns of the table, and `measures`, a dict of named numbers a row. Quarters are
        floats here; what does not exist is `None`.
    """
    rows = [_row(study, weighed) for weighed in study.findings]
    columns = {name: [_as_float(row[name]) for row in rows] for name in TABLE_COLUMNS}
    measures = [
        {name: number(value) for name, value in weighed.finding.measures.items()}
        for weighed in study.findings
    ]
    return {**columns, "measures": measures}


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
        "start_place": None if first is None else str(study.passage.place(first.start_quarters)),
        "spans": len(finding.spans),
        **{name: numbers.get(name) for name in WEIGHTS},
        "sentence": finding.sentence,
        "detail": finding.detail,
    }
