"""The app's own files say what they are, whatever the system believes about their endings."""

import mimetypes
from pathlib import Path

import pytest

from riffract.studio.server import _FONTS, _MEDIA_TYPES, _PAGES, _Pages

SCOPE = {"type": "http", "method": "GET", "headers": []}


# Essences of media types that a browser asks for: HTML standard (module scripts must be of a
# JavaScript type, style sheets of text/css); RFC 9239; RFC 8081 for fonts.
@pytest.mark.parametrize(
    ("place", "media_type"),
    [
        (_PAGES / "main.js", "text/javascript"),
        (_PAGES / "app.css", "text/css"),
        (_PAGES / "icon.svg", "image/svg+xml"),
        (_FONTS / "RiffractSans-400.ttf", "font/ttf"),
    ],
)
def test_a_file_is_of_its_type_where_the_registry_calls_it_plain_text(
    monkeypatch: pytest.MonkeyPatch, place: Path, media_type: str
) -> None:
    mimetypes.init()
    monkeypatch.setitem(mimetypes.types_map, place.suffix, "text/plain")
    assert mimetypes.guess_type(place.name)[0] == "text/plain"
    answer = _Pages(directory=place.parent).file_response(place, place.stat(), SCOPE)
    assert answer.headers["content-type"].partition(";")[0] == media_type


def test_every_file_of_the_app_has_a_type_of_ours() -> None:
    endings = {path.suffix for path in _PAGES.rglob("*") if path.is_file()}
    assert endings - {".html", ".md", ".txt", ".ts"} <= set(_MEDIA_TYPES)
