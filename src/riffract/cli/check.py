"""`riffract check`: what is wrong, where, and how to mend it."""

from collections.abc import Sequence
from pathlib import Path

from riffract.analysis.wording import listed, quarters_text
from riffract.cli.check_package import check_package, is_package
from riffract.cli.exit_codes import DONE, PROBLEM
from riffract.cli.subject import show, subject_of
from riffract.essay.claims import Claim
from riffract.essay.folder import Essay, FileProblem, claims_of
from riffract.formats.reading import ReadChoices
from riffract.music import Passage
from riffract.weighing.study import Study


def check(path: Path, choices: ReadChoices) -> int:
    """Read everything and say what is wrong; give the exit code."""
    if is_package(path):
        return check_package(path, _study)
    subject = subject_of(path, choices, _study)
    show(subject.problems)
    if subject.passage is None:
        return PROBLEM
    if subject.essay is not None and not _look_is_sound(subject.essay):
        return PROBLEM
    if subject.essay is not None and subject.essay.claims_source is not None:
        study = _study(subject.passage, subject.essay.settings.seed, subject.earlier)
        claims, problems = claims_of(subject.essay, study)
        show((*problems, *_translation_problems(subject.essay, claims)))
        if any(p.is_error for p in problems):
            return PROBLEM
        print(f"{path}: {claims_summary(claims)}.")
    if subject.essay is not None and not _by_hand_is_sound(subject.essay):
        return PROBLEM
    print(f"{path}: {described(subject.passage)}.")
    if subject.earlier:
        print(f"{path}: it may grow out of {listed([_named(p) for p in subject.earlier])}.")
    repeats = repeats_text(subject.passage)
    if repeats:
        print(f"{path}: {repeats}.")
    return DONE


def _study(passage: Passage, seed: int, earlier: Sequence[Passage]) -> Study:
    from riffract.weighing.weigh import study_passage

    return study_passage(passage, seed=seed, earlier=earlier)


def _translation_problems(essay: Essay, claims: Sequence[Claim]) -> Sequence[FileProblem]:
    from riffract.publish.material import translation_problems

    return translation_problems(essay, claims)


def _look_is_sound(essay: Essay) -> bool:
    """Tell what is wrong with the essay's own colours and fonts; say whether they can be used."""
    from riffract.picture.essay_look import look_of

    own, problems = look_of(essay)
    show(problems)
    return own is not None


def _by_hand_is_sound(essay: Essay) -> bool:
    """Tell what was set by hand and what is wrong in its file; say whether nothing is."""
    from riffract.essay.by_hand.kept import HAND_SET_FILE
    from riffract.essay.by_hand.measured import set_by_hand_in

    hand = set_by_hand_in(essay.folder, essay.passage, seed=essay.settings.seed)
    problems = [
        FileProblem(file=str(essay.folder / HAND_SET_FILE), problem=problem)
        for problem in hand.problems
    ]
    show(problems)
    for one in hand.measured:
        print(f"{essay.folder}: set by hand ({one.set.table}): {one.sentence}")
    return not any(problem.is_error for problem in problems)


def _named(passage: Passage) -> str:
    return f"‘{passage.title}’ ({passage.source})"


def claims_summary(claims: Sequence[Claim]) -> str:
    """Say how many claims there are, and how many of them a finding bears out."""
    count, found = len(claims), sum(claim.finding is not None for claim in claims)
    total = f"{count} claim{'' if count == 1 else 's'}"
    own = count - found
    if not count:
        return total
    if not own:
        return f"{total}, {'borne' if count == 1 else 'each borne'} out by a finding"
    observations = "an observation" if own == 1 else "observations"
    return f"{total}: {found} borne out by a finding, {own} as {observations} of your own"


def repeats_text(passage: Passage) -> str:
    """Say where the bars as written are played; empty if they are played as they are written.

    >>> from tests.making import passage
    >>> repeats_text(passage([(40, 4), (43, 4)]))
    ''
    """
    if all(bar.number == bar.written_number for bar in passage.bars):
        return ""
    played: dict[int, list[int]] = {}
    for bar in passage.bars:
        played.setdefault(bar.written_number, []).append(bar.number)
    runs: list[list[int]] = []
    for written in sorted(played):
        before = played.get(written - 1)
        goes_on = runs and before == [number - 1 for number in played[written]]
        if goes_on:
            runs[-1].append(written)
        else:
            runs.append([written])
    return "; ".join(_run_text(run, played[run[0]]) for run in runs)


def _run_text(run: Sequence[int], starts: Sequence[int]) -> str:
    further = len(run) - 1
    ranges = [_range_text(start, start + further) for start in starts]
    written = f"bars {_range_text(run[0], run[-1])} as written are"
    if not further:
        written = f"bar {run[0]} as written is"
    is_one = len(ranges) == 1 and not further
    return f"{written} bar{'' if is_one else 's'} {listed(ranges)} as played"


def _range_text(first: int, last: int) -> str:
    return str(first) if first == last else f"{first}–{last}"


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
