"""The folder of an essay: opening it, and starting a new one.

essay.toml     title, credits, rights, passage, recording, film
passage.tab    the music (or any file that `essay.toml` names)
earlier/       music that it grows out of, if there is any (or files that `essay.toml` names)
alignment.json when all of it sounds in the recording; made by `riffract hear`
claims.toml    chosen claims, their order and words
out/           everything made
"""

from collections.abc import Callable, Sequence
from dataclasses import dataclass, replace
from pathlib import Path
from typing import Final, TypeAlias

import tomlkit

from riffract.essay.beside import write_whole
from riffract.essay.claims import Claim, claims_problems, claims_text, read_claims
from riffract.essay.earlier import earlier_files, read_earlier
from riffract.essay.hearing import ALIGNMENT_FILE, Hearing
from riffract.essay.leads_out import leads_out
from riffract.essay.proposals.proposal import proposed_claims
from riffract.essay.recording import hearing_of, recording_problems, time_map_of
from riffract.essay.settings import Recording, Settings, read_settings
from riffract.essay.takes import take_problems
from riffract.formats.problem import Problem, ReadResult, Severity
from riffract.formats.reading import NO_CHOICES, ReadChoices, read_passage
from riffract.formats.tab import UnwritableError, write_tab
from riffract.music import Passage, TimeMap
from riffract.weighing.study import Study

SETTINGS_FILE: Final = "essay.toml"
CLAIMS_FILE: Final = "claims.toml"
OUT_FOLDER: Final = "out"
OWN_TAB: Final = "passage.tab"
SAYS_STRINGS: Final = (".tab", ".txt", ".musicxml", ".xml", ".mxl")
"""Endings of files that say themselves on which strings notes are played."""

SeededStudy: TypeAlias = Callable[[Passage, int, Sequence[Passage]], Study]
"""How a passage is studied: with the seed of every random draw, and what it grows out of."""

_FIRST_PASSAGE: Final = """\
title: My riff
tuning: E2 A2 D3 G3 B3 E4
metre: 7/8 = 2+2+3
tempo: q = 120

time | e e e e q. |
E4   |------------|
B3   |------------|
G3   |------------|
D3   |------------|
A2   |------------|
E2   |-0-3-0-6-5--|
"""


@dataclass(frozen=True, slots=True, kw_only=True)
class FileProblem:
    """A problem and the file that has it."""

    file: str
    problem: Problem

    @property
    def is_error(self) -> bool:
        """Whether the work must stop."""
        return self.problem.severity is Severity.ERROR

    def text(self) -> str:
        """Write it out as a terminal shows it."""
        return self.problem.text(self.file)


@dataclass(frozen=True, slots=True, kw_only=True)
class Essay:
    """An essay's folder, read.

    Attributes:
        folder: where it is.
        settings: `essay.toml`.
        passage: the music.
        earlier: passages that it grows out of, the earliest first; may be empty.
        claims_source: the text of `claims.toml`; `None` if there is none yet.
    """

    folder: Path
    settings: Settings
    passage: Passage
    claims_source: str | None
    earlier: tuple[Passage, ...] = ()
    hearing: Hearing | None = None

    @property
    def title(self) -> str:
        """The essay's title; the passage's if it has none of its own."""
        return self.settings.title or self.passage.title or self.folder.resolve().name

    @property
    def time_map(self) -> TimeMap:
        """When each moment of the score sounds in the film's sound."""
        return time_map_of(self.passage, self.settings.recording, self.hearing)

    @property
    def out(self) -> Path:
        """Where everything made goes."""
        return self.folder / OUT_FOLDER


@dataclass(frozen=True, slots=True, kw_only=True)
class Opened:
    """What opening a folder gave: an essay, unless something is wrong, and all problems."""

    essay: Essay | None
    problems: tuple[FileProblem, ...]


def is_essay(path: Path) -> bool:
    """Say whether a path is an essay's folder."""
    return (path / SETTINGS_FILE).is_file()


def open_essay(folder: Path, study_of: SeededStudy | None = None) -> Opened:
    """Read an essay's folder; all problems of all its files at once.

    Args:
        folder: where it is.
        study_of: how the passage is studied, with the essay's seed. If there is an error, the
            claims are read too, so that their mistakes are told in the same run; against the
            passage only with this.
    """
    settings_path = folder / SETTINGS_FILE
    if not settings_path.is_file():
        wrong = Problem(
            what="this folder holds no essay",
            mend=f"start one with: riffract new {folder}",
        )
        return Opened(essay=None, problems=(FileProblem(file=str(folder), problem=wrong),))
    text, unreadable = _text_of(settings_path)
    if text is None:
        return Opened(essay=None, problems=unreadable)
    settings, found = read_settings(text)
    problems = [FileProblem(file=str(settings_path), problem=p) for p in found]
    is_named = settings is not None and not any(p.place == "passage" for p in found)
    passage, unreadable = _music(folder, settings_path, settings if is_named else None)
    problems += unreadable
    earlier, unreadable = _earlier(folder, settings_path, settings)
    problems += unreadable
    recording = None if settings is None else settings.recording
    if recording is not None:
        problems += _recording_problems(folder, settings_path, recording, passage)
    claims_source, unreadable = _claims_source(folder)
    problems += unreadable
    is_wrong = any(p.is_error for p in problems)
    if settings is None or passage is None or is_wrong:
        if claims_source is not None:
            study = None
            if study_of and settings and passage:
                study = study_of(passage, settings.seed, earlier)
            problems += _claims_problems(folder, claims_source, study)
        return Opened(essay=None, problems=tuple(problems))
    hearing, unheard = _hearing(folder, recording, passage)
    problems += unheard
    essay = Essay(
        folder=folder,
        settings=settings,
        passage=passage,
        claims_source=claims_source,
        earlier=earlier,
        hearing=hearing,
    )
    return Opened(essay=essay, problems=tuple(problems))


def _hearing(
    folder: Path, recording: Recording | None, passage: Passage
) -> tuple[Hearing | None, list[FileProblem]]:
    if recording is None:
        return None, []
    hearing, found = hearing_of(folder, recording, passage)
    return hearing, [FileProblem(file=str(folder / ALIGNMENT_FILE), problem=p) for p in found]


def claims_of(essay: Essay, study: Study) -> tuple[tuple[Claim, ...], tuple[FileProblem, ...]]:
    """Give the essay's claims: those chosen, or, if none were chosen yet, those proposed."""
    if essay.claims_source is None:
        return proposed_claims(study), ()
    claims, problems = read_claims(essay.claims_source, essay.passage, study)
    problems = (*problems, *take_problems(essay.folder, claims))
    file = str(essay.folder / CLAIMS_FILE)
    return claims, tuple(FileProblem(file=file, problem=p) for p in problems)


def new_essay(
    folder: Path,
    passage_file: Path | None,
    study_of: Callable[[Passage], Study],
    *,
    choices: ReadChoices = NO_CHOICES,
    language: str = "en",
) -> Opened:
    """Start an essay in a folder that is empty or not there yet.

    Args:
        folder: where.
        passage_file: the music to copy into it; without one a first bar to write on from.
        study_of: how the passage is studied, so that claims can be proposed.
        choices: what the file leaves open.
        language: of film and papers, as BCP 47 writes it.
    """
    try:
        is_taken = folder.exists() and (not folder.is_dir() or any(folder.iterdir()))
    except OSError as error:
        return _cannot_be_made(folder, error)
    if is_taken:
        wrong = Problem(
            what="there is something here already, and nothing is ever overwritten",
            mend="name another folder, one that is empty or not there yet",
        )
        return Opened(essay=None, problems=(FileProblem(file=str(folder), problem=wrong),))
    music = _music_to_copy(passage_file, choices)
    if isinstance(music, Opened):
        return music
    name, data, passage, remarks = music
    try:
        folder.mkdir(parents=True, exist_ok=True)
        write_whole(folder / name, data)
    except OSError as error:
        return _cannot_be_made(folder, error)
    title = passage.title if passage is not None and passage.title else folder.resolve().name
    if passage is not None:
        study = study_of(passage)
        write_whole(folder / CLAIMS_FILE, claims_text(proposed_claims(study), passage))
    write_whole(folder / SETTINGS_FILE, _settings_text(title, name, language))
    opened = open_essay(folder)
    return replace(opened, problems=(*remarks, *opened.problems))


def _cannot_be_made(folder: Path, error: OSError) -> Opened:
    wrong = Problem(
        what=f"an essay cannot be started here: {error.strerror}",
        mend="name another folder, or check the rights of the one above it",
    )
    return Opened(essay=None, problems=(FileProblem(file=str(folder), problem=wrong),))


def _music_to_copy(
    passage_file: Path | None, choices: ReadChoices
) -> tuple[str, bytes, Passage | None, tuple[FileProblem, ...]] | Opened:
    """Give the music's name, bytes and passage, and what is to be said of the file it came from.

    A file that leaves something open is written down as tab with what was chosen or proposed, so
    that it can be seen and mended there.
    """
    if passage_file is None:
        return OWN_TAB, _FIRST_PASSAGE.encode(), None, ()
    read: ReadResult = read_passage(passage_file, choices)
    remarks = tuple(FileProblem(file=str(passage_file), problem=p) for p in read.problems)
    if read.passage is None:
        return Opened(essay=None, problems=remarks)
    says_all = choices == NO_CHOICES and not read.passage.proposed
    suffix = passage_file.suffix.lower()
    if says_all and suffix in SAYS_STRINGS:
        # Opening the copy says again what is to be said of it.
        return f"passage{suffix}", passage_file.read_bytes(), read.passage, ()
    try:
        return OWN_TAB, write_tab(read.passage).encode(), read.passage, remarks
    except UnwritableError as error:
        named = tuple(FileProblem(file=str(passage_file), problem=p) for p in error.problems)
        return Opened(essay=None, problems=named)


def _settings_text(title: str, passage_name: str, language: str) -> str:
    document = tomlkit.document()
    document["title"] = title
    document["subtitle"] = ""
    document["passage"] = passage_name
    if language != Settings().language:
        document["language"] = language
    document["credits"] = []
    for line in _ABOUT_RIGHTS:
        document.add(tomlkit.comment(line))
    document["rights"] = ""
    return tomlkit.dumps(document)


_ABOUT_RIGHTS: Final = (
    "Whose music this is, and what others may do with the film; shown in the credits if not empty.",
    "Music and recordings of others need their permission where the law asks for it.",
)


def _text_of(path: Path) -> tuple[str | None, tuple[FileProblem, ...]]:
    try:
        return path.read_text(encoding="utf-8-sig"), ()
    except OSError as error:
        problem = Problem(
            what=f"the file cannot be read: {error.strerror}", mend="check its permissions"
        )
    except UnicodeDecodeError:
        problem = Problem(what="the text is not UTF-8", mend="save it as UTF-8 in your text editor")
    return None, (FileProblem(file=str(path), problem=problem),)


def _music(
    folder: Path, settings_path: Path, settings: Settings | None
) -> tuple[Passage | None, tuple[FileProblem, ...]]:
    """Read the passage that the settings name; none if they do not name one."""
    if settings is None:
        return None, ()
    path = _inside(folder, settings.passage)
    if path is None:
        return None, (_outside(settings_path, "passage", settings.passage),)
    music = read_passage(path)
    return music.passage, tuple(FileProblem(file=str(path), problem=p) for p in music.problems)


def _earlier(
    folder: Path, settings_path: Path, settings: Settings | None
) -> tuple[tuple[Passage, ...], tuple[FileProblem, ...]]:
    """Read the passages that the settings name, or else those of the folder for them."""
    names = () if settings is None else settings.earlier
    inside = [(name, _inside(folder, name)) for name in names]
    outside = tuple(_outside(settings_path, "earlier", name) for name, p in inside if p is None)
    if outside:
        return (), outside
    paths = [path for _, path in inside if path is not None] if names else earlier_files(folder)
    passages, problems = read_earlier(paths)
    return passages, tuple(FileProblem(file=str(path), problem=p) for path, p in problems)


def _claims_problems(folder: Path, text: str, study: Study | None) -> list[FileProblem]:
    problems = (
        claims_problems(text) if study is None else read_claims(text, study.passage, study)[1]
    )
    return [FileProblem(file=str(folder / CLAIMS_FILE), problem=p) for p in problems]


def _claims_source(folder: Path) -> tuple[str | None, tuple[FileProblem, ...]]:
    path = folder / CLAIMS_FILE
    return _text_of(path) if path.exists() else (None, ())


def _inside(folder: Path, name: str) -> Path | None:
    """Give a file of the folder; `None` if the name leads out of it."""
    return None if leads_out(folder, name) else folder / name


def _outside(settings_path: Path, key: str, name: str) -> FileProblem:
    problem = Problem(
        what=f"{key} names {name}, which lies outside the essay's folder",
        mend="copy the file into the folder and name it without a path",
        place=key,
    )
    return FileProblem(file=str(settings_path), problem=problem)


def _recording_problems(
    folder: Path, settings_path: Path, recording: Recording, passage: Passage | None
) -> list[FileProblem]:
    path = _inside(folder, recording.file)
    if path is None:
        return [_outside(settings_path, "recording.file", recording.file)]
    problems = recording_problems(recording, path, passage)
    return [FileProblem(file=str(settings_path), problem=p) for p in problems]
