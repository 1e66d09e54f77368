"""Write the JSON Schema of what `riffract hear` prints and keeps, from the types themselves.

Run from the repository: python -m tools.hearing_schema
"""

import json
from fractions import Fraction
from inspect import cleandoc
from pathlib import Path
from typing import Any

import msgspec

from riffract.essay.hearing import Hearing

SCHEMA_FILE = Path("src/riffract/publish/hearing.schema.json")


def schema_text() -> str:
    """Give the schema, draft 2020-12."""
    made = msgspec.json.schema(Hearing, schema_hook=_exact)
    hearing = made["$defs"]["Hearing"]
    # It is told by whatever version made the file.
    hearing["properties"]["riffract"].pop("default")
    hearing["required"] = [*hearing["required"], "doubts", "riffract", "schema"]
    for part in made["$defs"].values():
        part["description"] = cleandoc(part.get("description", ""))
    whole = {
        "$schema": "https://json-schema.org/draft/2020-12/schema",
        "$id": "urn:riffract:hearing:1",
        "description": "What `riffract hear` found, as it is kept in alignment.json. Fields may be "
        "added without a new schema number.",
        **made,
    }
    return json.dumps(whole, indent=2, ensure_ascii=False) + "\n"


def _exact(kind: type) -> dict[str, Any]:
    if kind is Fraction:
        return {
            "type": "string",
            "pattern": "^-?[0-9]+(/[1-9][0-9]*)?$",
            "description": "Quarter notes, exact.",
        }
    raise NotImplementedError(f"no schema for {kind}")


if __name__ == "__main__":
    SCHEMA_FILE.write_text(schema_text(), encoding="utf-8")
