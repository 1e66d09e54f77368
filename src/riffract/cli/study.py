"""`riffract study`: how a passage is built, and how solid that is."""

import shutil
import textwrap
from collections.abc import Sequence
from contextlib import AbstractContextManager
from dataclasses import replace
from pathlib import Path
from typing import Final

from riffract.analysis.finding import Kind
from riffract.analysis.saying import said_in, say
from riffract.cli.bars import span_of
from riffract.cli.exit_codes import DONE, PROBLEM
from riffract.cli.subject import show, subject_of
from riffract.essay.by_hand.kept import HAND_SET_FILE
from riffract.essay.by_hand.measured import HandMeasured, set_by_hand_in
from riffract.essay.folder import Essay, FileProblem
from riffract.essay.translation import words_file
from riffract.formats.reading import ReadChoices
from riffract.music.cutting import cut_stretch
from riffract.publish.answer import answer_text
from riffract.publish.findings_table import findings_table
from riffract.publish.languages import language_in
from riffract.publish.report import report
from riffract.publish.set_by_hand import by_hand_facts
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
    language: str | None = None,
) -> int:
    """Study a passage and print what was found; give the exit code.

    Args:
        path: a file of music, or an essay's folder.
        choices: what the file leaves open.
        form: `notes`, `json` or `csv`.
        only: kinds of finding to tell; all of them are looked for all the same, since what is
            solid depends on how much was looked at.
        span: bars to look at, as `3-6`, or from beat to beat, as `3:2-5:1`.
        everything: tell in full what is no better than chance.
        seed: of every random draw.
        earlier: files of music that a file of music grows out of, the earliest first.
        language: that it is told in; the essay's own if not given, else English.
    """
    subject = subject_of(path, choices, earlier=earlier)
    show(subject.problems)
    if subject.passage is None:
        return PROBLEM
    stretch = subject.passage.span if span is None else span_of(span, subject.passage)
    if stretch is None:
        return PROBLEM
    passage = subject.passage if span is None else cut_stretch(subject.passage, stretch)
    own_seed = 1 if subject.essay is None else subject.essay.settings.seed
    with _telling(path, subject.essay, language):
        result = study_passage(
            passage, seed=own_seed if seed is None else seed, earlier=subject.earlier
        )
        if only:
            result = _only(result, [Kind(kind) for kind in only])
        is_all = span is None and not only
        by_hand = _set_by_hand(subject.essay) if subject.essay is not None and is_all else ()
        match form:
            case "json":
                start = subject.passage.bar_at(stretch.start_quarters).start_quarters
                print(answer_text(result, from_quarters=start, by_hand=by_hand), end="")
            case "csv":
                print(findings_table(result, by_hand), end="")
            case _:
                width = min(shutil.get_terminal_size((WIDEST, 24)).columns, WIDEST)
                print(report(result, width=width, everything=everything), end="")
                _print_by_hand(by_hand, width)
    return DONE


def _telling(path: Path, essay: Essay | None, code: str | None) -> AbstractContextManager[None]:
    """Say all in the language asked for, or in the essay's; what is wrong with it is told."""
    folder = path.parent if essay is None else essay.folder
    code = code or ("en" if essay is None else essay.settings.language)
    chosen, problems = language_in(folder, code)
    show([FileProblem(file=str(folder / words_file(code)), problem=one) for one in problems])
    return said_in(chosen)


def _set_by_hand(essay: Essay) -> tuple[HandMeasured, ...]:
    """Measure what the analyst has set by hand, and tell what is wrong in its file."""
    hand = set_by_hand_in(essay.folder, essay.passage, seed=essay.settings.seed)
    file = str(essay.folder / HAND_SET_FILE)
    show([FileProblem(file=file, problem=problem) for problem in hand.problems])
    return hand.measured


def _print_by_hand(by_hand: Sequence[HandMeasured], width: int) -> None:
    for number, one in enumerate(by_hand):
        told = [] if number else ["", say("Set by hand")]
        told += textwrap.wrap(one.sentence, width, initial_indent="  ", subsequent_indent="  ")
        for name, text in by_hand_facts(one):
            told += textwrap.wrap(
                f"{name}: {text}", width, initial_indent="    ", subsequent_indent="      "
            )
        print("\n".join(told))


def _only(result: Study, kinds: list[Kind]) -> Study:
    return replace(result, findings=tuple(f for f in result.findings if f.finding.kind in kinds))
