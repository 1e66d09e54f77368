"""Write the JSON Schema of a package's manifest from its types.

Run from the repository: python -m tools.manifest_schema
"""

import json
from inspect import cleandoc
from pathlib import Path
from typing import Final

import msgspec

from riffract.publish.manifest import Manifest

SCHEMA_FILE: Final = Path("src/riffract/publish/manifest.schema.json")


def schema_text() -> str:
    """Give the schema (draft 2020-12) as text."""
    head = {
        "$schema": "https://json-schema.org/draft/2020-12/schema",
        "title": "What a package holds, and from what its numbers can be made again",
    }
    made = msgspec.json.schema(Manifest)
    for part in made["$defs"].values():
        # Python 3.13 takes the margin off docstrings by itself.
        part["description"] = cleandoc(part.get("description", ""))
    return json.dumps(head | made, indent=1, ensure_ascii=False) + "\n"


if __name__ == "__main__":
    SCHEMA_FILE.write_text(schema_text(), encoding="utf-8")
