"""The way in from Python: read music, study it, and take the findings into a data frame."""

import importlib
import warnings
from collections.abc import Mapping, Sequence
from pathlib import Path
from typing import Any, Final

from riffract.analysis.saying import said_in
from riffract.essay.by_hand.kept import HAND_SET_FILE
from riffract.essay.by_hand.measured import HandMeasured, set_by_hand_in
from riffract.essay.folder import open_essay
from riffract.essay.translation import Translation
from riffract.formats.choices import choices_of
from riffract.formats.problem import Severity
from riffract.formats.reading import read_passage
from riffract.music import Passage, cut
from riffract.publish.findings_table import findings_columns
from riffract.publish.languages import language_for
from riffract.weighing.study import Study
from riffract.weighing.weigh import study_passage

FRAME_LIBRARIES: Final = ("pandas", "polars")
"""Libraries whose data frames are made, the first that is installed."""


class ReadError(ValueError):
    """A file that cannot be read; its message tells every mistake, where it is, and the mend."""


def read(
    path: str | Path,
    *,
    bars: tuple[int, int] | None = None,
    part: str | None = None,
    grid: str | None = None,
    tuning: str | None = None,
) -> Passage:
    """Read a passage from plain-text tab, MusicXML or MIDI.

    Args:
        path: the file.
        bars: first and last bar to keep, as played; all if not given.
        part: which part or passage of the file.
        grid: the value that notes lie on, as `1/16`, or `bars`, for pasted tab and MIDI.
        tuning: for pasted tab and MIDI, low to high: `E2 A2 D3 G3 B3 E4`.

    Warns:
        UserWarning: of what is legal but suspicious.

    Raises:
        ReadError: if the file cannot be read.
        ValueError: if an option cannot be understood, or the passage has no such bars.
    """
    path = Path(path)
    if not path.is_file():
        raise ReadError(f"{path}: there is no such file\n  mend: check the name")
    found = read_passage(path, choices_of(part=part, grid=grid, tuning=tuning))
    errors = [p for p in found.problems if p.severity is Severity.ERROR]
    if found.passage is None or errors:
        raise ReadError("\n".join(problem.text(str(path)) for problem in errors))
    for problem in found.problems:
        warnings.warn(problem.text(str(path)), stacklevel=2)
    return found.passage if bars is None else cut(found.passage, *bars)


def study(
    passage: Passage, *, seed: int = 1, earlier: Sequence[Passage] = (), language: str = "en"
) -> Study:
    """Find out how a passage is built, and how solid that is.

    Args:
        passage: what to study.
        seed: of every random draw; the same seed gives the same answer.
        earlier: passages that it may grow out of, the earliest first.
        language: that its sentences are in: `en` or `de`.
    """
    with said_in(language_for(Translation(code=language))[0]):
        return study_passage(passage, seed=seed, earlier=earlier)


def set_by_hand(folder: str | Path, *, language: str = "en") -> tuple[HandMeasured, ...]:
    """Measure what the analyst has set by hand in an essay: axes, riffs and stretches.

    Nobody weighed these; they stand in `findings.toml` of the essay's folder.

    Args:
        folder: of the essay.
        language: that its sentences are in: `en` or `de`.

    Returns:
        Each with its sentence and what the notes say to it; often nothing.

    Warns:
        UserWarning: of a row of that file that is not about the passage; it is left out.

    Raises:
        ReadError: if the essay cannot be read.
    """
    opened = open_essay(Path(folder))
    essay = opened.essay
    if essay is None:
        errors = [problem.text() for problem in opened.problems if problem.is_error]
        raise ReadError("\n".join(errors) or f"{folder}: there is no essay")
    with said_in(language_for(Translation(code=language))[0]):
        hand = set_by_hand_in(essay.folder, essay.passage, seed=essay.settings.seed)
    for problem in hand.problems:
        warnings.warn(problem.text(str(essay.folder / HAND_SET_FILE)), stacklevel=2)
    return hand.measured


def findings_frame(study: Study, by_hand: Sequence[HandMeasured] = ()) -> Any:
    """Give the findings as a data frame, one a row: of pandas, or of polars if only that is there.

    Args:
        study: whose findings.
        by_hand: what was set by hand, as `set_by_hand` gives it; its rows stand below the findings,
            their verdict is `set_by_hand`.

    Raises:
        ImportError: if neither is installed.
    """
    columns: Mapping[str, Sequence[object]] = findings_columns(study, by_hand)
    for name in FRAME_LIBRARIES:
        try:
            library = importlib.import_module(name)
        except ImportError:
            continue
        return library.DataFrame(dict(columns))
    raise ImportError(
        "data frames need pandas or polars; install one of them, or use "
        "riffract.publish.findings_table.findings_columns, which needs neither"
    )
