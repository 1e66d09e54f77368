"""`riffract study`: how a passage is built, and how solid that is."""

from pathlib import Path
from typing import Final

from riffract.analysis.finding import Kind
from riffract.cli.check import described
from riffract.cli.main import DONE, PROBLEM
from riffract.cli.subject import show, subject_of
from riffract.formats.reading import ReadChoices
from riffract.publish.answer import answer_text
from riffract.weighing.study import Study, Verdict, WeighedFinding
from riffract.weighing.weigh import study_passage

HEADINGS: Final = {
    Kind.PASSES: "Where the riff starts, and how it comes back",
    Kind.MIRROR: "What mirrors what",
    Kind.GESTURE: "What shape it draws",
    Kind.SONORITY: "What sounds together and in a row",
    Kind.COLLECTION: "Which scale it draws on",
    Kind.COLLECTION_CHANGE: "How the scale changes",
    Kind.DRONE: "Which string rings on",
    Kind.ANCHOR: "What sits above the lowest string",
    Kind.MOTIVE: "Where an idea comes from, and what becomes of it",
    Kind.PATTERN: "Which figures come back, moved",
    Kind.HAND: "What the hand explains",
    Kind.METRE: "How it sits in the bar",
}
VERDICTS: Final = {
    Verdict.FIRM: "firm",
    Verdict.LIKELY: "likely",
    Verdict.SUGGESTIVE: "suggestive",
    Verdict.NOT_BEYOND_CHANCE: "not beyond chance",
    Verdict.TRIVIAL: "trivially true",
}


def study(
    path: Path, choices: ReadChoices, *, as_json: bool, only: str | None, seed: int | None
) -> int:
    """Study a passage and print what was found; give the exit code."""
    subject = subject_of(path, choices)
    show(subject.problems)
    if subject.passage is None:
        return PROBLEM
    own_seed = 1 if subject.essay is None else subject.essay.settings.seed
    result = study_passage(subject.passage, seed=own_seed if seed is None else seed)
    if only is not None:
        result = _only(result, Kind(only))
    print(answer_text(result) if as_json else as_text(result), end="")
    return DONE


def as_text(result: Study) -> str:
    """Write a study out for a terminal: by question, the most solid first."""
    passage = result.passage
    lines = [f"{passage.title or passage.source or 'Passage'}: {described(passage)}."]
    for kind, heading in HEADINGS.items():
        found = result.of_kind(kind)
        if found:
            lines += ["", heading]
            lines += [line for one in found for line in _finding_lines(one)]
    if not result.findings:
        lines += ["", "Nothing was found."]
    if result.ignored:
        lines += ["", "Left out"]
        lines += [f"  {one.what}: {one.why} ({one.where})" for one in result.ignored]
    return "\n".join(lines) + "\n"


def _finding_lines(weighed: WeighedFinding) -> list[str]:
    chance = weighed.chance
    numbers = "" if chance is None else f", p = {chance.p:.2g}, q = {weighed.q:.2g}"
    return [
        f"  {weighed.finding.sentence}",
        f"    {VERDICTS[weighed.verdict]}{numbers}  ({weighed.finding.id})",
        f"    {weighed.finding.detail}",
    ]


def _only(result: Study, kind: Kind) -> Study:
    return Study(
        passage=result.passage,
        findings=result.of_kind(kind),
        ignored=result.ignored,
        seed=result.seed,
    )
