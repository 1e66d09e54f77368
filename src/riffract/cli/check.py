"""`riffract check`: what is wrong, where, and how to mend it."""

from pathlib import Path

from riffract.analysis.wording import quarters_text
from riffract.cli.main import DONE, PROBLEM
from riffract.cli.subject import show, subject_of
from riffract.essay.folder import claims_of
from riffract.formats.reading import ReadChoices
from riffract.music import Passage


def check(path: Path, choices: ReadChoices) -> int:
    """Read everything and say what is wrong; give the exit code."""
    subject = subject_of(path, choices)
    show(subject.problems)
    if subject.passage is None:
        return PROBLEM
    if subject.essay is not None and subject.essay.claims_source is not None:
        from riffract.weighing.weigh import study_passage

        study = study_passage(subject.passage, seed=subject.essay.settings.seed)
        claims, problems = claims_of(subject.essay, study)
        show(problems)
        if any(p.is_error for p in problems):
            return PROBLEM
        print(f"{path}: {len(claims)} claims, each with what bears it out.")
    print(f"{path}: {described(subject.passage)}.")
    return DONE


def described(passage: Passage) -> str:
    """Sum a passage up in a line: notes, bars, strings, quarters.

    >>> from tests.making import passage
    >>> described(passage([(40, 1), (43, 3)]))
    '2 notes, 1 bar, 7 strings (B1 E2 A2 D3 G3 B3 E4), 4 quarters'
    """
    notes, bars = len(passage.notes), len(passage.bars)
    return ", ".join(
        (
            f"{notes} note{'' if notes == 1 else 's'}",
            f"{bars} bar{'' if bars == 1 else 's'}",
            f"{passage.tuning.string_count} strings ({passage.tuning.label()})",
            quarters_text(passage.length_quarters),
        )
    )
