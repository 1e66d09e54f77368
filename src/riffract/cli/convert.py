"""`riffract convert`: the same passage in another format."""

import sys
from pathlib import Path

from riffract.analysis.wording import listed
from riffract.cli.check import described
from riffract.cli.exit_codes import DONE, PROBLEM
from riffract.cli.subject import show, subject_of
from riffract.cli.target import target_fault
from riffract.essay.beside import write_whole
from riffract.essay.disk import not_written
from riffract.essay.folder import FileProblem
from riffract.formats.problem import Problem
from riffract.formats.reading import ReadChoices
from riffract.formats.tab import UnwritableError
from riffract.formats.writing import FORMATS, lost_in, write_passage


def convert(
    source: Path, target: Path, choices: ReadChoices, *, folded: bool, width: int, replace: bool
) -> int:
    """Read one file and write another; give the exit code."""
    suffix = target.suffix.lower()
    fault = target_fault(target, FORMATS, replace=replace, source=source)
    if fault is not None:
        show([FileProblem(file=str(target), problem=fault)])
        return PROBLEM
    subject = subject_of(source, choices)
    show(subject.problems)
    if subject.passage is None:
        return PROBLEM
    try:
        content = write_passage(subject.passage, suffix, folded=folded, width=width)
    except UnwritableError as error:
        show(FileProblem(file=str(source), problem=problem) for problem in error.problems)
        return PROBLEM
    except ValueError as error:
        wrong = Problem(what=str(error), mend="write it as tab, which holds any passage")
        show([FileProblem(file=str(source), problem=wrong)])
        return PROBLEM
    try:
        write_whole(target.resolve(), content)
    except OSError as error:
        show([FileProblem(file=str(target), problem=not_written(error))])
        return PROBLEM
    lost = lost_in(subject.passage, suffix)
    if lost:
        print(f"{target}: {FORMATS[suffix]} does not keep {listed(lost)}.", file=sys.stderr)
    proposed = subject.passage.proposed
    if proposed:
        words = " and ".join(proposed)
        print(f"{target}: {words} proposed, not written; the file says so.", file=sys.stderr)
    print(f"{target}: {described(subject.passage)}.")
    return DONE
