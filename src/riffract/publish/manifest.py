"""The manifest of a package: what it holds, and from what its numbers can be made again.

`manifest.json` names each file with its size and its SHA-256 (FIPS 180-4), the version, the seed
and the settings. It is written whenever something is published; what an earlier run left there
keeps the sum that it had then, so that a change by hand is noticed.
"""

from collections.abc import Iterator, Sequence
from hashlib import file_digest, sha256
from pathlib import Path, PurePosixPath
from typing import Annotated, Final

import msgspec

from riffract import __version__
from riffract.essay.beside import write_whole
from riffract.formats.problem import Problem
from riffract.publish.answer import answer_text
from riffract.publish.material import Material
from riffract.publish.parts import MANIFEST_FILE
from riffract.publish.passage_part import studied_from

SCHEMA: Final = 1
LARGEST_MANIFEST_BYTES: Final = 16 * 2**20
"""The pictures of an hour of overlay, 216,000 files, are not published this way."""

MOST_FILES: Final = 100_000
MOST_NAME_SIGNS: Final = 400

Sum = Annotated[str, msgspec.Meta(pattern="^[0-9a-f]{64}$")]
Name = Annotated[str, msgspec.Meta(min_length=1, max_length=MOST_NAME_SIGNS)]
Count = Annotated[int, msgspec.Meta(ge=0, le=2**53)]


class FileEntry(msgspec.Struct, frozen=True, kw_only=True):
    """One file.

    Attributes:
        name: from the package's folder, with `/`.
        bytes: its size.
        sha256: its sum.
        made_from: the sum of what it was made from; files with the same are of one state.
    """

    name: Name
    bytes: Count
    sha256: Sum
    made_from: Sum


class FilmEntry(msgspec.Struct, frozen=True, kw_only=True):
    """How the film was made."""

    width: Count
    height: Count
    frames_a_second: Count
    target_lufs: float
    ceiling_dbtp: float


class Manifest(msgspec.Struct, frozen=True, kw_only=True):
    """All of `manifest.json`.

    Attributes:
        riffract: the version that made the package.
        schema: of this file.
        title: of the essay.
        language: that it is in, as BCP 47 writes it.
        seed: of every random draw.
        made_from: the sum of music, findings and claims at the latest run.
        studied: the files from which the numbers can be made again: the passage, then what it grows
            out of; empty if they are not part of the package.
        film: how the film was made.
        files: by name.
    """

    riffract: Annotated[str, msgspec.Meta(max_length=100)]
    schema: Annotated[int, msgspec.Meta(ge=1, le=SCHEMA)] = SCHEMA
    title: Annotated[str, msgspec.Meta(max_length=2_000)]
    language: Annotated[str, msgspec.Meta(max_length=40)]
    seed: Annotated[int, msgspec.Meta(ge=0, le=2**31)]
    made_from: Sum
    studied: Annotated[tuple[Name, ...], msgspec.Meta(max_length=100)]
    film: FilmEntry
    files: Annotated[tuple[FileEntry, ...], msgspec.Meta(max_length=MOST_FILES)]


class _Form(msgspec.Struct, frozen=True, kw_only=True):
    """What every manifest has, of whatever version."""

    schema: Annotated[int, msgspec.Meta(ge=1)]


def write_manifest(material: Material, folder: Path, made: Sequence[Path]) -> Path:
    """Write down what a package holds, after files were made into its folder.

    Args:
        material: what they were made from.
        folder: the package's.
        made: files and folders that this run has made. Others that the manifest names already keep
            their entries as long as they are there.
    """
    made_from = state_sum(material)
    entries = {
        entry.name: entry
        for entry in _kept(folder)
        if is_inside(entry.name) and (folder / entry.name).is_file()
    }
    for path in _each_file(made):
        name = path.relative_to(folder).as_posix()
        entries[name] = FileEntry(
            name=name,
            bytes=path.stat().st_size,
            sha256=sum_of(path),
            made_from=made_from,
        )
    manifest = Manifest(
        riffract=__version__,
        title=material.about.title,
        language=material.language.code,
        seed=material.study.seed,
        made_from=made_from,
        studied=tuple(studied_from(material.study.passage, material.earlier, folder)),
        film=FilmEntry(
            width=material.width,
            height=material.height,
            frames_a_second=material.frames_a_second,
            target_lufs=material.target_lufs,
            ceiling_dbtp=material.ceiling_dbtp,
        ),
        files=tuple(entries[name] for name in sorted(entries)),
    )
    path = folder / MANIFEST_FILE
    write_whole(path, msgspec.json.format(msgspec.json.encode(manifest), indent=1) + b"\n")
    return path


def read_manifest(path: Path) -> Manifest | Problem:
    """Read a manifest that anybody may have written."""
    mend = "ask whoever made the package for its manifest, or publish it again"
    try:
        if not path.is_file():
            return Problem(what="there is no such file", mend=mend)
        if path.stat().st_size > LARGEST_MANIFEST_BYTES:
            limit = LARGEST_MANIFEST_BYTES // 2**20
            return Problem(what=f"it is larger than {limit} MB", mend=mend)
        text = path.read_bytes()
        form = msgspec.json.decode(text, type=_Form)
        if form.schema > SCHEMA:
            return _of_a_later_version(form)
        manifest = msgspec.json.decode(text, type=Manifest)
    except OSError as error:
        return Problem(what=f"it cannot be read: {error.strerror or error}", mend=mend)
    except (msgspec.DecodeError, ValueError, RecursionError) as error:
        return Problem(what=f"it is no manifest: {error}", mend=mend)
    names = [entry.name for entry in manifest.files]
    outside = [name for name in (*names, *manifest.studied) if not is_inside(name)]
    if outside:
        return Problem(what=f"it names {outside[0]!r}, which is no place in this folder", mend=mend)
    if len(set(names)) < len(names):
        return Problem(what="it names a file twice", mend=mend)
    return manifest


def _of_a_later_version(form: _Form) -> Problem:
    return Problem(
        what=f"it has form {form.schema}; this version, {__version__}, knows none beyond {SCHEMA}",
        mend="check it with a newer version, such as the one that made it",
    )


def is_inside(name: str) -> bool:
    r"""Say whether a name is one of a file below the folder, plainly written.

    >>> [is_inside(n) for n in ("film.mp4", "stills/01.png", "../x", "/x", "a/../b", "a\\b", "c:x")]
    [True, True, False, False, False, False, False]
    """
    parts = name.split("/")
    is_plain = name.isprintable() and not set(name) & set('\\:*?"<>|')
    return (
        is_plain
        and not any(part in {"", ".", ".."} for part in parts)
        and bool(PurePosixPath(name).name)
    )


def sum_of(path: Path) -> str:
    """Give the SHA-256 of a file."""
    with path.open("rb") as file:
        return file_digest(file, "sha256").hexdigest()


def state_sum(material: Material) -> str:
    """Give one sum over all that a package is made from but the look: music, findings, claims."""
    state = sha256(answer_text(material.study, by_hand=material.by_hand).encode())
    for part in (material.tab_text, str(list(material.shots)), str(material.about)):
        state.update(part.encode())
    return state.hexdigest()


def _kept(folder: Path) -> tuple[FileEntry, ...]:
    before = read_manifest(folder / MANIFEST_FILE)
    return () if isinstance(before, Problem) else before.files


def _each_file(made: Sequence[Path]) -> Iterator[Path]:
    for path in made:
        if path.is_dir():
            yield from sorted(one for one in path.iterdir() if one.is_file())
        else:
            yield path
