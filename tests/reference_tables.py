"""Check values that lie beside the repository; tests that need them skip where they are absent."""

import csv
from pathlib import Path

import pytest

_FOLDER = Path(__file__).parents[2] / "shared" / "data" / "reference"


def rows_of(name: str) -> list[dict[str, str]]:
    """Read a table as text, row by row: digit strings keep their leading zeros."""
    path = _FOLDER / name
    if not path.exists():
        pytest.skip(f"reference table {name} is not here")
    with path.open(encoding="utf-8", newline="") as file:
        return list(csv.DictReader(file))
