"""The W3C schema of MusicXML 4.0, read without the network."""

from functools import cache
from pathlib import Path
from typing import Any

import pytest
from lxml import etree

FOLDER = Path(__file__).parents[3] / "shared" / "data" / "musicxml" / "schema"


class _Local(etree.Resolver):
    """Finds what the schema imports by web address beside it."""

    def resolve(self, *asked: Any) -> Any:  # by address, public name, and the parser's context
        name = str(asked[0]).rsplit("/", 1)[-1]
        found_in: Any = self  # the stubs do not know all methods of a resolver
        return found_in.resolve_filename(str(FOLDER / name), asked[2])


@cache
def schema(name: str = "musicxml.xsd") -> etree.XMLSchema:
    """Load a schema; skips the test where the schemas are not at hand."""
    if not (FOLDER / name).exists():
        pytest.skip(f"the W3C schema of MusicXML is not at {FOLDER}")
    parser = etree.XMLParser(no_network=True)
    parser.resolvers.add(_Local())
    return etree.XMLSchema(etree.parse(str(FOLDER / name), parser))


def faults(data: bytes, name: str = "musicxml.xsd") -> list[str]:
    """List what the schema finds wrong with a file."""
    found = schema(name)
    found.validate(etree.fromstring(data))
    log: Any = found.error_log
    return [f"{entry.line}: {entry.message}" for entry in log]
