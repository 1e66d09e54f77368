"""`riffract study`: how a passage is built, and how solid that is."""

import shutil
import textwrap
from collections.abc import Sequence
from dataclasses import replace
from pathlib import Path
from typing import Final

from riffract.analysis.finding import Kind
from riffract.cli.bars import bars_of
from riffract.cli.main import DONE, PROBLEM
from riffract.cli.subject import show, subject_of
from riffract.essay.folder import Essay, FileProblem
from riffract.essay.hand_set import HAND_SET_FILE, measured_by_hand, read_hand_set
from riffract.formats.reading import ReadChoices
from riffract.music import cut
from riffract.publish.answer import answer_text
from riffract.publish.findings_table import findings_table
from riffract.publish.report import report
from riffract.weighing.study import Study
from riffract.weighing.weigh import study_passage

WIDEST: Final = 100
"""Signs in a line of notes; longer lines are hard to read."""


def study(
    path: Path,
    choices: ReadChoices,
    *,
    form: str,
    only: list[str] | None,
    span: str | None,
    everything: bool,
    seed: int | None,
    earlier: Sequence[Path] = (),
) -> int:
    """Study a passage and print what was found; give the exit code.

    Args:
        path: a file of music, or an essay's folder.
        choices: what the file leaves open.
        form: `notes`, `json` or `csv`.
        only: kinds of finding to tell; all of them are looked for all the same, since what is
            solid depends on how much was looked at.
        span: bars to look at, as `3-6`.
        everything: tell in full what is no better than chance.
        seed: of every random draw.
        earlier: files of music that a file of music grows out of, the earliest first.
    """
    subject = subject_of(path, choices, earlier=earlier)
    show(subject.problems)
    if subject.passage is None:
        return PROBLEM
    bars = (1, subject.passage.bars[-1].number) if span is None else bars_of(span, subject.passage)
    if bars is None:
        return PROBLEM
    passage = subject.passage if span is None else cut(subject.passage, *bars)
    own_seed = 1 if subject.essay is None else subject.essay.settings.seed
    result = study_passage(
        passage, seed=own_seed if seed is None else seed, earlier=subject.earlier
    )
    if only:
        result = _only(result, [Kind(kind) for kind in only])
    match form:
        case "json":
            start = subject.passage.bars[bars[0] - 1].start_quarters
            print(answer_text(result, from_quarters=start), end="")
        case "csv":
            print(findings_table(result), end="")
        case _:
            width = min(shutil.get_terminal_size((WIDEST, 24)).columns, WIDEST)
            print(report(result, width=width, everything=everything), end="")
            if subject.essay is not None and span is None and not only:
                _show_set_by_hand(subject.essay, width)
    return DONE


def _show_set_by_hand(essay: Essay, width: int) -> None:
    """Print what the analyst has set by hand, with what the notes say about it."""
    file = essay.folder / HAND_SET_FILE
    if not file.is_file():
        return
    those, problems = read_hand_set(file.read_text(encoding="utf-8"), essay.passage)
    show([FileProblem(file=str(file), problem=problem) for problem in problems])
    for number, one in enumerate(measured_by_hand(those, essay.passage, seed=essay.settings.seed)):
        told = [] if number else ["", "Set by hand"]
        told += textwrap.wrap(one.sentence, width, initial_indent="  ", subsequent_indent="  ")
        for name, text in one.facts:
            told += textwrap.wrap(
                f"{name}: {text}", width, initial_indent="    ", subsequent_indent="      "
            )
        print("\n".join(told))


def _only(result: Study, kinds: list[Kind]) -> Study:
    return replace(result, findings=tuple(f for f in result.findings if f.finding.kind in kinds))
