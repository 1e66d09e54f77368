"""Every block of commands in the documents does what it says, from top to bottom.

Each block is run in a folder of its own, as a reader would: with a short passage and a small film
in the place of the reader's, which changes how long it takes and not what happens.
"""

import csv
import json
import os
import re
import shlex
import signal
import subprocess
import sys
from collections.abc import Callable, Iterator, Mapping
from dataclasses import dataclass
from fractions import Fraction
from importlib.util import find_spec
from io import StringIO
from pathlib import Path
from types import SimpleNamespace

import av
import numpy as np
import pytest
from tests.making import passage

import riffract
from riffract.cli.main import main
from riffract.formats.tab import write_tab
from riffract.formats.writing import write_passage
from riffract.music import Passage, TimeMap
from riffract.sound import Sound, Tone, render, write_wav
from riffract.sound.encoding import FORMS, write_sound

ROOT = Path(__file__).parents[1]
TUTORIAL = ROOT / "docs" / "first-essay.md"
DOCUMENTS = [
    ROOT / "README.md",
    *(page for page in sorted((ROOT / "docs").glob("*.md")) if page != TUTORIAL),
]
FENCED = re.compile(r"^```(?:sh|text)\n(.*?)^```", re.MULTILINE | re.DOTALL)
INDENTED = re.compile(r"(?:^ {4}\S.*\n)+", re.MULTILINE)
COMMAND = re.compile(r"^ *riffract ([^\n#`]+?)(?:  .*|#.*)?$", re.MULTILINE)

PITCHES = (40, 47, 52, 55, 43, 50, 58, 53, 45, 52, 57, 48, 41, 55, 60, 47, 44, 51) * 2 + (40, 43)
VALUES: tuple[str | int, ...] = ("1/2", "1/2", 1, "1/2", "1/2", 1) * 6 + (4, 4)
LEAD_SECONDS = 1.3
SMALL = "\n[film]\nwidth = 320\nheight = 180\nframes_per_second = 12\n"
MAIL = (ROOT / "docs" / "pasted-tab.md").read_text("utf-8").partition("```mail\n")[2]

REFUSED = {("pasted-tab.md", "convert mail.txt riff.tab"): "does not say how long its notes last"}
"""What is shown because it is refused, and with which words."""


@dataclass(frozen=True, slots=True)
class Block:
    """Some commands below each other, and the page that shows them."""

    page: str
    commands: tuple[str, ...]


def blocks() -> Iterator[Block]:
    for document in DOCUMENTS:
        text = document.read_text("utf-8")
        fenced = FENCED.findall(text)
        indented = INDENTED.findall(re.sub(r"^```.*?^```", "", text, flags=re.M | re.S))
        for code in (*fenced, *indented):
            commands = tuple(line.strip() for line in COMMAND.findall(code))
            if commands:
                yield Block(document.name, commands)


def music() -> Passage:
    return passage(list(zip(PITCHES, VALUES, strict=True)), title="Stairs")


def played(of: Passage) -> Sound:
    """Render it a little slower than it is written, after a silence."""
    end = of.length_quarters
    time_map = TimeMap(quarters=(Fraction(0), end), seconds=(0.0, 0.52 * float(end)))
    sound = render(of, time_map, tone=Tone.CLEAN)
    lead = np.zeros((2, round(LEAD_SECONDS * sound.rate_hz)), dtype=np.float32)
    return Sound(samples=np.concatenate([lead, sound.samples], axis=1), rate_hz=sound.rate_hz)


@pytest.fixture(scope="module")
def take(tmp_path_factory: pytest.TempPathFactory) -> Path:
    folder = tmp_path_factory.mktemp("take")
    sound = played(music())
    write_wav(folder / "take.wav", sound)
    write_sound(folder / "take.flac", sound, FORMS[".flac"])
    return folder


@pytest.fixture
def desk(tmp_path: Path, take: Path, monkeypatch: pytest.MonkeyPatch) -> Path:
    """A folder with the files that the pages speak of."""
    monkeypatch.chdir(tmp_path)
    monkeypatch.setenv("HOME", str(tmp_path / "home"))
    monkeypatch.setenv("XDG_STATE_HOME", str(tmp_path / "home"))
    tab = write_tab(music())
    sketch = write_tab(passage(list(zip(PITCHES, VALUES, strict=True))[6:24], title="Sketch"))
    for name in ("passage.tab", "tide.tab", "riffs/one.tab", "transcriptions/one.tab"):
        (tmp_path / name).parent.mkdir(exist_ok=True)
        (tmp_path / name).write_text(tab, "utf-8")
    for name in ("sketch.tab", "riffs/two.tab", "transcriptions/two.tab"):
        (tmp_path / name).write_text(sketch, "utf-8")
    (tmp_path / "demo.musicxml").write_bytes(write_passage(music(), ".musicxml"))
    (tmp_path / "score.mxl").write_bytes(write_passage(music(), ".mxl"))
    (tmp_path / "mail.txt").write_text(MAIL.partition("```")[0], "utf-8")
    for name in ("take.wav", "take.flac"):
        (tmp_path / name).write_bytes((take / name).read_bytes())
    return tmp_path


def settle(folder: Path, take: Path) -> None:
    """Do what a reader does between two commands: bring a recording; and make the film small."""
    (folder / "take.wav").write_bytes(take.read_bytes())
    settings = folder / "essay.toml"
    text = re.sub(r"^\[film\]\n(?:\w.*\n)*", "", settings.read_text("utf-8"), flags=re.M)
    settings.write_text(f'{text}{SMALL}\n[recording]\nfile = "take.wav"\n', "utf-8")


def opened(words: list[str]) -> None:
    """Start the app without a browser, wait for its address, and end it as a person does."""
    command = [sys.executable, "-u", "-m", "riffract", *words, "--no-browser"]
    with subprocess.Popen(command, stdout=subprocess.PIPE, text=True, env=dict(os.environ)) as app:
        assert app.stdout is not None
        told = next((line for line in app.stdout if "http://127.0.0.1:" in line), "")
        app.send_signal(signal.SIGINT)
        app.stdout.read()
    assert told
    assert app.returncode == 0


READ_AS: Mapping[str, Callable[[str], object]] = {
    "--json": json.loads,
    "--csv": lambda text: list(csv.reader(StringIO(text), strict=True)),
}


@pytest.mark.parametrize("block", list(blocks()), ids=lambda b: f"{b.page}:{b.commands[0][:30]}")
def test_a_block_of_commands_does_what_it_says(
    block: Block, desk: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    essay = desk / "essays" / "tide"
    makes_it = any(command.startswith("new ") for command in block.commands)
    if not makes_it and any("essays/tide" in command for command in block.commands):
        assert main(["new", "essays/tide", "--from", "passage.tab"]) == 0
        settle(essay, desk / "take.wav")
        if "publish" not in block.commands[0] and any("/out" in c for c in block.commands):
            assert main(["publish", "essays/tide", "findings", "passage"]) == 0
    capsys.readouterr()
    for command in block.commands:
        words = shlex.split(command)
        if words[0] == "open":
            opened(words)
            continue
        refusal = REFUSED.get((block.page, command))
        code = main(words)
        shown = capsys.readouterr()
        assert code == (1 if refusal else 0), f"{command}\n{shown.out[-600:]}\n{shown.err}"
        assert (refusal or "") in shown.err
        assert shown.out or words[0] in {"convert", "excerpt"} or refusal, command
        for option, read in READ_AS.items():
            if option in words:
                assert read(shown.out)
        if words[0] == "new":
            settle(essay, desk / "take.wav")


def test_all_lines_with_commands_are_in_a_block() -> None:
    lines = sum(
        len(re.findall(r"^ *riffract [a-z]+ ", document.read_text("utf-8"), re.M))
        for document in DOCUMENTS
    )
    assert sum(len(block.commands) for block in blocks()) >= lines > 30


PYTHON = re.compile(r"^```python\n(.*?)^```", re.MULTILINE | re.DOTALL)
PAGES_WITH_PYTHON = [d for d in DOCUMENTS if PYTHON.search(d.read_text("utf-8"))]


@pytest.mark.parametrize("document", PAGES_WITH_PYTHON, ids=lambda d: d.name)
def test_the_python_of_a_page_runs_from_top_to_bottom(
    document: Path, desk: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    if find_spec("pandas") is None and find_spec("polars") is None:
        # A library for frames is the reader's own; here a dict of columns stands in for one.
        monkeypatch.setitem(sys.modules, "pandas", SimpleNamespace(DataFrame=dict))
    assert main(["new", "essays/tide", "--from", "passage.tab"]) == 0
    (desk / "tide.mxl").write_bytes(write_passage(music(), ".mxl"))
    known: dict[str, object] = {"study": riffract.study(music())}
    for code in PYTHON.findall(document.read_text("utf-8")):
        exec(compile(code, document.name, "exec"), known)


# --- The first essay ------------------------------------------------------------------------------

STEP = re.compile(r"^```(\w+) ?(\S*)\n(.*?)^```", re.MULTILINE | re.DOTALL)
NUMBER = re.compile(r"\d+(?:\.\d+)?")


def test_the_first_essay_goes_as_its_page_shows(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch, capsys: pytest.CaptureFixture[str]
) -> None:
    """What a reader saves is saved, what they type is typed, and what they are shown comes out."""
    monkeypatch.chdir(tmp_path)
    told = ""
    for kind, name, content in STEP.findall(TUTORIAL.read_text("utf-8")):
        if kind == "sh":
            told = ""
            for command in COMMAND.findall(content):
                assert main(shlex.split(command)) == 0, command
                told += capsys.readouterr().out
        elif kind == "text":
            assert_shown(content.splitlines(), told.splitlines())
        elif name.endswith("claims.toml"):
            before = Path(name).read_text("utf-8")
            Path(name).write_text(f"{before}\n{content}", "utf-8")
        else:
            Path(name).write_text(content + (SMALL if kind == "toml" else ""), "utf-8")
    with av.open("essays/stairs/out/film.mp4") as film:
        assert {stream.type for stream in film.streams} >= {"video", "audio"}


def assert_shown(shown: list[str], told: list[str]) -> None:
    """Find the lines of a page in order; those between stand for `…`, numbers may differ."""
    at = 0
    may_skip = False
    for line in shown:
        if line == "…":
            may_skip = True
            continue
        want = NUMBER.sub("0", line)
        rest = [NUMBER.sub("0", one) for one in told[at:]]
        assert want in (rest if may_skip else rest[:1]), f"{line!r} is not in {told[at:]}"
        at += rest.index(want) + 1
        may_skip = False
    assert may_skip or at == len(told), told[at:]
