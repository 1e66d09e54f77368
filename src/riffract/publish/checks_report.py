"""The checks of a film as a report: for people, for programs, and as warnings.

All is said in the language of the essay but the names of the checks, which programs know them by.
"""

import json
from collections.abc import Sequence

from riffract.analysis.saying import say
from riffract.formats.problem import Problem, Severity
from riffract.publish.checks import FLASHES, READING_TIME, Check, Failure
from riffract.publish.wording import clock_text


def checks_text(checks: Sequence[Check]) -> str:
    """Write the report for people: a line a check, and two for each thing that fails."""
    lines = []
    for check in checks:
        lines.append(check.line)
        for failure in check.failures:
            mend = say("mend: {mend}", mend=failure.mend)
            lines += [f"    {_place(failure)}{failure.what}", f"      {mend}"]
    return "\n".join([*lines, ""])


def checks_json(checks: Sequence[Check]) -> str:
    """Write the report for programs."""
    rows = [
        {
            "name": check.name,
            "passes": check.is_passed,
            "limit": check.limit,
            "measured": check.measured,
            "failures": [_failure_row(failure) for failure in check.failures],
        }
        for check in checks
    ]
    return json.dumps({"checks": rows}, ensure_ascii=False, indent=1) + "\n"


def checks_problems(checks: Sequence[Check]) -> tuple[Problem, ...]:
    """Give what fails as warnings; flashes and reading time are told where they are found."""
    return tuple(
        Problem(
            what=failure.what,
            mend=failure.mend,
            place="" if failure.at_seconds is None else clock_text(failure.at_seconds),
            severity=Severity.WARNING,
        )
        for check in checks
        if check.name not in {FLASHES, READING_TIME}
        for failure in check.failures
    )


def _place(failure: Failure) -> str:
    if failure.at_seconds is None:
        return ""
    at = clock_text(failure.at_seconds)
    return say("{at}, in “{shot}”: ", at=at, shot=failure.shot)


def _failure_row(failure: Failure) -> dict[str, object]:
    row: dict[str, object] = {"what": failure.what, "mend": failure.mend}
    if failure.at_seconds is not None:
        row |= {"at_seconds": round(failure.at_seconds, 3), "shot": failure.shot}
    if failure.where is not None:
        box = failure.where
        sides = (box.left, box.top, box.right, box.bottom)
        row["where_px"] = [round(side, 1) for side in sides]
    return row
