"""The page on what goes out says what the code does."""

import re
from pathlib import Path

import pytest
from tests.publish_fakes import small_whats

from riffract.essay import shot_list
from riffract.essay.translation import WordsFile
from riffract.publish import captions, parts
from riffract.publish.answer_what import what_as_json
from riffract.publish.languages import BUILT_IN
from riffract.publish.manifest import FileEntry, Manifest
from riffract.publish.parts import Part

PAGE = Path(__file__).parents[2] / "docs" / "publish.md"
TEXT = PAGE.read_text(encoding="utf-8")


@pytest.mark.parametrize("part", list(Part))
def test_each_part_is_documented(part: Part) -> None:
    assert f"`{part}`" in TEXT


@pytest.mark.parametrize("name", [name for name in dir(parts) if name.endswith("_FILE")])
def test_each_file_is_documented(name: str) -> None:
    assert f"`{getattr(parts, name)}`" in TEXT


def test_each_kind_is_documented_with_its_fields() -> None:
    rows = dict(re.findall(r"^\| `(\w+)` \| (.*) \|$", TEXT, flags=re.MULTILINE))
    for kind, what in small_whats().items():
        fields = re.findall(r"`(\w+)`", re.sub(r"\([^)]*\)", "", rows[kind]))
        top = set(what_as_json(what))
        assert top <= set(fields) | {"readings"}, kind


def test_the_limits_of_captions_are_the_ones_in_force() -> None:
    assert f"{captions.MOST_ROWS} × {shot_list.MOST_CHARACTERS_A_ROW}" in TEXT
    assert f"{shot_list.MOST_CHARACTERS_A_SECOND:.0f} signs a second" in TEXT
    assert (captions.SHORTEST_MS, captions.LONGEST_MS) == (1000, 7000)
    assert f"{captions.GAP_MS / 1000} s" in TEXT


def test_each_field_of_a_manifest_is_documented() -> None:
    text = (PAGE.parent / "packages.md").read_text(encoding="utf-8")
    for name in (*Manifest.__struct_fields__, *FileEntry.__struct_fields__):
        assert f"`{name}`" in text, name


def test_built_in_languages_and_the_parts_of_a_file_of_words_are_documented() -> None:
    text = (PAGE.parent / "captions.md").read_text(encoding="utf-8")
    assert 'language = "de"' in text
    for code in BUILT_IN:
        assert f"words/{code}.toml" in text
    for name in WordsFile.__struct_fields__:
        assert f"[{name}]" in text


def test_links_inside_the_project_resolve() -> None:
    targets = re.findall(r"\]\(([^)#:]+)\)", TEXT)
    assert targets
    for target in targets:
        assert (PAGE.parent / target).exists(), target
