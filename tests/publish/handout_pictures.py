"""The pages of a handout as pictures, to be looked at by tests."""

import json
from collections.abc import Mapping
from importlib.resources import files
from pathlib import Path
from typing import Any

import typst


def handout_pages(data: Mapping[str, Any], *, pixels_per_inch: float = 110.0) -> tuple[bytes, ...]:
    """Set what would be a PDF as PNGs, one a page."""
    folder = Path(str(files("riffract.picture").joinpath("fonts")))
    made: bytes | list[bytes] = typst.compile(
        files("riffract.publish.handout").joinpath("handout.typ").read_bytes(),
        format="png",
        ppi=pixels_per_inch,
        font_paths=typst.Fonts(include_system_fonts=False, font_paths=[folder]),
        sys_inputs={"data": json.dumps(data, ensure_ascii=False)},
    )
    return tuple(made) if isinstance(made, list) else (made,)
