"""The music itself as a part of a package: tab, MusicXML, MIDI, and when it sounds."""

from collections.abc import Iterator, Sequence
from dataclasses import replace
from pathlib import Path
from typing import Final

from riffract.essay.hearing import ALIGNMENT_FILE
from riffract.formats.problem import Problem, Severity
from riffract.formats.reading import read_bytes
from riffract.formats.tab import UnwritableError
from riffract.formats.writing import FORMATS, write_passage
from riffract.music import Passage
from riffract.publish.material import Material
from riffract.publish.parts import EARLIER_FOLDER, MIDI_FILE, MUSICXML_FILE, TAB_FILE
from riffract.publish.published import Published, written

_WHOLE: Final = (TAB_FILE, MUSICXML_FILE)
"""Files that keep all that a study asks for, unless the music has what they cannot say."""


def passage_part(material: Material, folder: Path) -> Published:
    """Write the music in each format that can hold it, and what it grows out of as tab."""
    files: dict[str, str | bytes] = {}
    problems: list[Problem] = []
    for name in (TAB_FILE, MUSICXML_FILE, MIDI_FILE):
        content = _content(material.study.passage, Path(name).suffix)
        if content is None:
            problems.append(_unwritten(name))
        else:
            files[name] = content
    for name, passage in _earlier(material.earlier):
        content = _content(passage, Path(name).suffix)
        if content is None:
            problems.append(_unwritten(name))
        else:
            files[name] = content
            (folder / EARLIER_FOLDER).mkdir(exist_ok=True)
    if material.alignment is not None:
        files[ALIGNMENT_FILE] = material.alignment
    return written(folder, files, problems=tuple(problems))


def studied_from(passage: Passage, earlier: Sequence[Passage], folder: Path) -> list[str]:
    """Name the files of a package from which the same passages are read again.

    Returns:
        The passage's own first, then those that it grows out of; empty if one of them is not there
        or reads otherwise than what was studied.
    """
    names = [name for name in _WHOLE if _reads_as(folder / name, passage)][:1]
    for name, one in _earlier(earlier):
        names += [name] if _reads_as(folder / name, one) else []
    return names if len(names) == 1 + len(earlier) else []


def _reads_as(path: Path, passage: Passage) -> bool:
    if not path.is_file():
        return False
    read = read_bytes(path.read_bytes(), source=path.name).passage
    if read is None:
        return False
    return _bare(read) == _bare(passage)


def _bare(passage: Passage) -> Passage:
    """Leave out what no finding hangs on: which file it was, its own bar numbers, open choices."""
    bars = tuple(replace(bar, written_number=bar.number) for bar in passage.bars)
    return replace(passage, bars=bars, source="", proposed=())


def _earlier(passages: Sequence[Passage]) -> Iterator[tuple[str, Passage]]:
    for number, passage in enumerate(passages, start=1):
        yield f"{EARLIER_FOLDER}/{number:02d}.tab", passage


def _content(passage: Passage, suffix: str) -> bytes | None:
    try:
        return write_passage(passage, suffix)
    except (UnwritableError, ValueError):
        return None


def _unwritten(name: str) -> Problem:
    kind = FORMATS[Path(name).suffix]
    return Problem(
        what=f"{kind} cannot say all of this music, so there is no {name}",
        mend=f"riffract convert tells what {kind} cannot hold; the other files have it",
        severity=Severity.WARNING,
    )
