"""The manifest, and the check of a package that somebody else made."""

import hashlib
import json
import os
from collections.abc import Callable
from dataclasses import replace
from pathlib import Path
from typing import Any

import jsonschema
import msgspec
import pytest
from hypothesis import given
from hypothesis import strategies as st
from tests.publish.test_publish_package import material
from tools.manifest_schema import SCHEMA_FILE, schema_text

from riffract.cli.main import main
from riffract.formats.problem import Problem, Severity
from riffract.publish import package_check
from riffract.publish.film.progress import CancelledError
from riffract.publish.manifest import (
    LARGEST_MANIFEST_BYTES,
    Manifest,
    is_inside,
    read_manifest,
)
from riffract.publish.package import publish
from riffract.publish.package_check import (
    KnownAnswer,
    differences,
    file_problems,
    is_same,
)
from riffract.publish.parts import Part

ROOT = Path(__file__).parents[2]
DEMO = ROOT / "src" / "riffract" / "demo"


def made(folder: Path, *parts: Part) -> Manifest:
    publish(material(), folder, parts or {Part.SCRIPT, Part.CAPTIONS, Part.CHAPTERS})
    manifest = read_manifest(folder / "manifest.json")
    assert isinstance(manifest, Manifest)
    return manifest


@pytest.fixture(scope="module")
def package(tmp_path_factory: pytest.TempPathFactory) -> Path:
    """The built-in essay's music and findings, as a package of their own."""
    out = tmp_path_factory.mktemp("package") / "out"
    assert main(["publish", str(DEMO), "findings", "passage", "--out", str(out)]) == 0
    return out


def copy_of(package: Path, folder: Path) -> Path:
    for path in package.iterdir():
        (folder / path.name).write_bytes(path.read_bytes())
    return folder


def signed(folder: Path, name: str, content: bytes) -> None:
    """Change a file, and the manifest with it."""
    (folder / name).write_bytes(content)
    data = json.loads((folder / "manifest.json").read_text("utf-8"))
    entry = next(entry for entry in data["files"] if entry["name"] == name)
    entry |= {"bytes": len(content), "sha256": hashlib.sha256(content).hexdigest()}
    (folder / "manifest.json").write_text(json.dumps(data), "utf-8")


# FIPS 180-4, as Python's own hashlib computes it over the whole file.


def test_each_file_is_named_with_its_size_and_its_sum(tmp_path: Path) -> None:
    manifest = made(tmp_path)
    on_disk = {path.name for path in tmp_path.iterdir()} - {"manifest.json"}
    assert {entry.name for entry in manifest.files} == on_disk
    for entry in manifest.files:
        content = (tmp_path / entry.name).read_bytes()
        assert entry.bytes == len(content)
        assert entry.sha256 == hashlib.sha256(content).hexdigest()


def test_the_schema_is_that_of_the_types_and_a_manifest_obeys_it(tmp_path: Path) -> None:
    assert (ROOT / SCHEMA_FILE).read_text("utf-8") == schema_text()
    made(tmp_path)
    data = json.loads((tmp_path / "manifest.json").read_text("utf-8"))
    jsonschema.Draft202012Validator(json.loads(schema_text())).validate(data)


def test_pictures_of_an_overlay_are_named_one_by_one(tmp_path: Path) -> None:
    from riffract.publish.film.overlay import OverlayKind

    short = replace(material(height=60), frames_a_second=2, overlay=OverlayKind.PNG)
    publish(short, tmp_path, {Part.OVERLAY})
    manifest = read_manifest(tmp_path / "manifest.json")
    assert isinstance(manifest, Manifest)
    names = {entry.name for entry in manifest.files}
    assert "overlay/timing.csv" in names
    assert "overlay/02-page/00000.png" in names
    assert file_problems(tmp_path, manifest) == ()


def test_what_an_earlier_run_left_keeps_its_sum(tmp_path: Path) -> None:
    made(tmp_path, Part.SCRIPT)
    (tmp_path / "script.md").write_text("changed by hand", "utf-8")
    manifest = made(tmp_path, Part.CAPTIONS)
    (problem,) = file_problems(tmp_path, manifest)
    assert problem.place == "script.md"


def test_files_of_an_earlier_state_are_told(tmp_path: Path) -> None:
    publish(replace(material(), tab_text="another"), tmp_path, {Part.SCRIPT})
    (problem,) = file_problems(tmp_path, made(tmp_path, Part.CAPTIONS))
    assert problem.severity is Severity.WARNING
    assert "two files of the package were made before" in problem.what


def test_a_job_that_was_stopped_leaves_a_manifest_of_what_is_complete(tmp_path: Path) -> None:
    asked = iter([False, False, True])
    with pytest.raises(CancelledError):
        publish(material(), tmp_path, is_cancelled=lambda: next(asked))
    manifest = read_manifest(tmp_path / "manifest.json")
    assert isinstance(manifest, Manifest)
    assert {entry.name for entry in manifest.files} >= {"findings.json", "script.md"}
    assert file_problems(tmp_path, manifest) == ()


def _shorten(path: Path) -> None:
    path.write_bytes(path.read_bytes()[:-1])


def _change(path: Path) -> None:
    path.write_bytes(path.read_bytes()[:-1] + b"?")


def _link(path: Path) -> None:
    content = path.read_bytes()
    path.unlink()
    elsewhere = path.parent.parent / "elsewhere"
    elsewhere.write_bytes(content)
    path.symlink_to(elsewhere)


def _pipe(path: Path) -> None:
    path.unlink()
    os.mkfifo(path)


@pytest.mark.parametrize(
    ("harm", "told"),
    [
        (Path.unlink, "missing"),
        (_shorten, "bytes, and had"),
        (_change, "changed since"),
        (_link, "link"),
        (_pipe, "no ordinary file"),
    ],
)
def test_each_harm_to_a_file_is_told(
    harm: Callable[[Path], None], told: str, tmp_path: Path
) -> None:
    folder = tmp_path / "package"
    manifest = made(folder)
    harm(folder / "captions.vtt")
    (problem,) = file_problems(folder, manifest)
    assert (problem.place, problem.severity) == ("captions.vtt", Severity.ERROR)
    assert told in problem.what


def test_a_file_that_is_not_of_the_package_is_a_warning(tmp_path: Path) -> None:
    manifest = made(tmp_path)
    (tmp_path / "notes.txt").write_text("mine", "utf-8")
    (problem,) = file_problems(tmp_path, manifest)
    assert problem.severity is Severity.WARNING
    assert "notes.txt" in problem.what


@pytest.mark.parametrize(
    "name",
    [
        "../x",
        "/etc/passwd",
        "a/../../x",
        "a\\..\\x",
        "C:x",
        "",
        "a//b",
        "./a",
        "a/",
        "a\0b",
        "a\nb",
    ],
)
def test_a_name_that_leaves_the_folder_is_refused(name: str, tmp_path: Path) -> None:
    assert not is_inside(name)
    made(tmp_path)
    path = tmp_path / "manifest.json"
    data = json.loads(path.read_text("utf-8"))
    for place in ("files", "studied"):
        hostile = json.loads(json.dumps(data))
        if place == "files":
            hostile["files"][0]["name"] = name
        else:
            hostile["studied"] = [name]
        path.write_text(json.dumps(hostile), "utf-8")
        assert isinstance(read_manifest(path), Problem)


@given(st.text(max_size=30))
def test_a_name_that_is_let_through_stays_in_the_folder(name: str) -> None:
    if is_inside(name):
        assert (Path("/package") / name).resolve().is_relative_to("/package")


@pytest.mark.parametrize(
    "text", ["", "{", "[]", "null", '{"schema": 2}', "\x00", "[" * 100_000, '{"files": 1}']
)
def test_a_broken_manifest_is_a_problem_and_no_crash(text: str, tmp_path: Path) -> None:
    (tmp_path / "manifest.json").write_text(text, "utf-8")
    assert isinstance(read_manifest(tmp_path / "manifest.json"), Problem)


def test_a_manifest_beyond_all_bounds_is_not_read(tmp_path: Path) -> None:
    path = tmp_path / "manifest.json"
    with path.open("wb") as file:
        file.truncate(LARGEST_MANIFEST_BYTES + 1)
    problem = read_manifest(path)
    assert isinstance(problem, Problem)
    assert "larger than" in problem.what


def test_a_manifest_of_a_later_form_asks_for_a_newer_version(tmp_path: Path) -> None:
    made(tmp_path)
    path = tmp_path / "manifest.json"
    data = json.loads(path.read_text("utf-8"))
    path.write_text(json.dumps(data | {"schema": 7, "unheard": True}), "utf-8")
    problem = read_manifest(path)
    assert isinstance(problem, Problem)
    assert "form 7" in problem.what
    assert "newer version" in problem.mend


def test_a_package_is_found_whole_and_its_numbers_come_out_again(
    package: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    assert main(["check", str(package)]) == 0
    shown = capsys.readouterr()
    assert "whole and unchanged" in shown.out
    count = len(json.loads((package / "findings.json").read_text("utf-8"))["findings"])
    assert f"all {count} findings come out the same" in shown.out
    assert shown.err == ""


def test_a_package_may_be_moved_and_named_by_its_manifest(
    package: Path, tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    folder = tmp_path / "on a stick" / "été"
    folder.mkdir(parents=True)
    copy_of(package, folder)
    assert main(["check", str(folder / "manifest.json")]) == 0
    assert "come out the same" in capsys.readouterr().out


def test_a_package_that_lost_its_manifest_is_still_taken_for_one(
    package: Path, tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    folder = copy_of(package, tmp_path)
    (folder / "manifest.json").unlink()
    assert main(["check", str(folder)]) == 1
    assert "manifest.json: there is no such file" in capsys.readouterr().err


def test_numbers_of_another_version_are_told_to_be_of_one(
    package: Path, tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    folder = copy_of(package, tmp_path)
    data = json.loads((folder / "manifest.json").read_text("utf-8"))
    (folder / "manifest.json").write_text(json.dumps(data | {"riffract": "0.0.1"}), "utf-8")
    assert main(["check", str(folder)]) == 0
    assert "changed since 0.0.1" in capsys.readouterr().out


def test_numbers_of_a_package_with_a_hole_are_not_made_again(
    package: Path, tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    folder = copy_of(package, tmp_path)
    (folder / "findings.csv").unlink()
    assert main(["check", str(folder)]) == 1
    shown = capsys.readouterr()
    assert "its numbers were not made again" in shown.out
    assert "findings.csv" in shown.err


FORGED = [
    ("notes", [0], "its notes differ"),
    ("spans", [["0", "1"]], "its bars differ"),
    ("rivals", [{"description": "none", "bits": 99.0}], "its rivals differ"),
    ("survives", 1.0, "the changes that it stands differ"),
    ("detail", "Beyond doubt.", "it said “Beyond doubt.”"),
]


@pytest.mark.parametrize(("field", "forged", "told"), FORGED, ids=[f[0] for f in FORGED])
def test_whatever_is_forged_of_a_finding_is_told(
    package: Path, field: str, forged: Any, told: str
) -> None:
    true = json.loads((package / "findings.json").read_text("utf-8"))
    false = json.loads(json.dumps(true))
    false["findings"][0][field] = forged
    one, other = (msgspec.convert(data, KnownAnswer) for data in (false, true))
    (only,) = differences(one, other)
    assert told in only


def test_findings_of_other_music_are_told(package: Path) -> None:
    true = json.loads((package / "findings.json").read_text("utf-8"))
    false = json.loads(json.dumps(true))
    false["passage"]["notes"][0]["fret"] += 1
    one, other = (msgspec.convert(data, KnownAnswer) for data in (false, true))
    assert list(differences(one, other)) == [
        "the findings are of other music than is in the package"
    ]


def test_changed_numbers_are_told_though_the_manifest_was_changed_with_them(
    package: Path, tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    folder = copy_of(package, tmp_path)
    data = json.loads((folder / "findings.json").read_text("utf-8"))
    gone = data["findings"].pop()
    first = data["findings"][0]
    was = first["verdict"]
    first["verdict"] = "trivial"
    signed(folder, "findings.json", json.dumps(data).encode())
    assert main(["check", str(folder)]) == 1
    shown = capsys.readouterr()
    assert f"{first['id']}: the verdict was trivially true, and is {was}" in shown.err
    assert f"{gone['id']} is found, and is not in the package" in shown.err
    assert "come out the same" not in shown.out


def test_changed_music_is_told_by_what_it_does_to_the_findings(
    package: Path, tmp_path: Path
) -> None:
    folder = copy_of(package, tmp_path)
    tab = (folder / "passage.tab").read_text("utf-8")
    signed(folder, "passage.tab", tab.replace("-3--h4-", "-2--h4-").encode())
    assert main(["check", str(folder)]) == 1


def test_a_package_without_findings_is_whole_but_cannot_be_studied_again(
    package: Path, tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    publish(material(), tmp_path / "out", {Part.SCRIPT})
    assert main(["check", str(tmp_path / "out")]) == 0
    assert "not both findings and the music" in capsys.readouterr().err


def test_what_a_package_says_does_nothing_to_a_terminal(
    package: Path, tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    folder = copy_of(package, tmp_path)
    data = json.loads((folder / "manifest.json").read_text("utf-8"))
    data["title"] = "\x1b[2J\x07Evil"
    (folder / "manifest.json").write_text(json.dumps(data), "utf-8")
    main(["check", str(folder)])
    shown = capsys.readouterr()
    assert "\x1b" not in shown.out + shown.err
    assert "Evil" in shown.out


def answer_with(**changed: Any) -> KnownAnswer:
    finding = {
        "id": "mirror-1",
        "verdict": "firm",
        "sentence": "It mirrors.",
        "measures": {"p": 0.01, "null_model": "reordered"},
        "what": {"axis": "7/2", "deviations": [1, 2]},
    }
    return msgspec.convert({"findings": [finding | changed]}, KnownAnswer)


@pytest.mark.parametrize(
    ("changed", "told"),
    [
        ({}, []),
        ({"measures": {"p": 0.01 * (1 + 1e-9), "null_model": "reordered"}}, []),
        ({"verdict": "likely"}, ["mirror-1: the verdict was firm, and is likely now"]),
        (
            {"measures": {"p": 0.02, "null_model": "reordered"}},
            ["mirror-1: p was 0.01, and is 0.02 now"],
        ),
        (
            {"measures": {"p": 0.01}},
            ["mirror-1: null_model was reordered, and is not given now"],
        ),
        ({"what": {"axis": "4", "deviations": [1, 2]}}, ["mirror-1: what it says of axis differs"]),
        (
            {"sentence": "It leans."},
            ["mirror-1: it said “It mirrors.”, and says “It leans.” now"],
        ),
    ],
)
def test_each_difference_is_a_sentence(changed: dict[str, Any], told: list[str]) -> None:
    assert list(differences(answer_with(), answer_with(**changed))) == told


@pytest.mark.parametrize("scale", [0.5, 2.0])
def test_halving_or_doubling_what_counts_as_the_same_changes_nothing(
    scale: float, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setattr(package_check, "SAME_SHARE", package_check.SAME_SHARE * scale)
    assert is_same(0.123456789012, 0.123456789013)  # the last of twelve digits
    assert not is_same(0.0250, 0.0251)  # one draw more of ten thousand
