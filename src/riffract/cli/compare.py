"""`riffract compare`: how unusual a passage is among others, and what is like it."""

from collections.abc import Sequence
from pathlib import Path

from riffract.analysis.attacks import ignored
from riffract.analysis.finding import Ignored
from riffract.cli.exit_codes import DONE, PROBLEM
from riffract.cli.subject import Subject, show, subject_of
from riffract.essay.corpus.files import sha256_of
from riffract.essay.corpus.index import CorpusError, index_at
from riffract.essay.corpus.query import compare_with_corpus
from riffract.essay.folder import FileProblem
from riffract.formats.problem import Problem
from riffract.formats.reading import ReadChoices
from riffract.music import Passage
from riffract.publish.corpus_answer import as_text, comparison_answer
from riffract.weighing.comparing.background import compare_with_background
from riffract.weighing.comparing.comparison import Comparison, Likeness
from riffract.weighing.comparing.profile import Profile, profile_of
from riffract.weighing.comparing.standing import Standing
from riffract.weighing.comparing.surface import Surface, surface_of
from riffract.weighing.comparing.windows import WINDOW_ATTACKS, longest_fitting


def compare(
    path: Path, corpus: Path | None, choices: ReadChoices, *, attacks: int | None, as_json: bool
) -> int:
    """Compare a passage and print where it stands; give the exit code."""
    subject = subject_of(path, choices)
    show(subject.problems)
    if subject.passage is None:
        return PROBLEM
    profile = _profile(surface_of(subject.passage), attacks)
    if isinstance(profile, Problem):
        show([FileProblem(file=str(path), problem=profile)])
        return PROBLEM
    try:
        comparison = (
            compare_with_background(profile)
            if corpus is None
            else compare_with_corpus(profile, index_at(corpus), sha256=_sha256(path, subject))
        )
    except CorpusError as error:
        show([FileProblem(file=str(error.path), problem=error.problem)])
        return PROBLEM
    print(_told(comparison, subject.passage, path, as_json=as_json), end="")
    return DONE


def written(comparison: Comparison, title: str, left_out: Sequence[Ignored] = ()) -> str:
    """Write a comparison out for a terminal: what stands out, all measures, what is like it."""
    windows = "1 window" if comparison.windows == 1 else f"{comparison.windows} windows"
    lines = [
        f"{title}: {windows} of {comparison.window_attacks} attacks.",
        comparison.sentence,
        "",
        "What stands out",
        *([f"  {s.sentence}" for s in comparison.remarkable] or ["  Nothing does."]),
        "",
        "Where each measure stands: value, and how many in 100 passages lie below it",
        *(_row(s) for s in comparison.standings),
    ]
    lines += _alike("Most alike in what was measured", comparison.by_measures)
    lines += _alike("Most alike in the turns of the line", comparison.by_line)
    usual = comparison.corpus.usual_distance
    if usual is not None and comparison.by_measures:
        lines.append(f"  Two passages of this corpus usually lie {usual:.2f} apart.")
    lines += ["", comparison.caution]
    if comparison.corpus.provenance:
        lines.append(f"Source: {comparison.corpus.provenance}")
    if left_out:
        names = "; ".join(f"{one.what} ({one.where})" for one in left_out)
        lines.append(f"Not measured, or not in full: {names}.")
    # Titles come from files, and an index may come from a stranger.
    return "".join("".join(s if s.isprintable() else "?" for s in ln) + "\n" for ln in lines)


def _told(comparison: Comparison, passage: Passage, path: Path, *, as_json: bool) -> str:
    title = passage.title or passage.source or path.name
    left_out = ignored(passage)
    if as_json:
        return as_text(comparison_answer(comparison, title=title, left_out=left_out))
    return written(comparison, title, left_out)


def _profile(surface: Surface, attacks: int | None) -> Profile | Problem:
    wanted = longest_fitting(surface) if attacks is None else attacks
    if wanted is None:
        return Problem(
            what=f"the passage is too short to compare: it has {len(surface)} attacks, and the "
            f"shortest window has {WINDOW_ATTACKS[0]} that start with a bar, have pitches and no "
            "long silence between them",
            mend="write more of it down",
        )
    profile = profile_of(surface, wanted)
    if profile is None:
        longest = longest_fitting(surface)
        mend = "write more of it down" if longest is None else f"say --attacks {longest}"
        return Problem(what=f"the passage holds no window of {wanted} attacks", mend=mend)
    return profile


def _sha256(path: Path, subject: Subject) -> str:
    """Give the fingerprint of the file of music, by which the corpus would know it."""
    essay = subject.essay
    file = path if essay is None else essay.folder / essay.settings.passage
    return sha256_of(file.read_bytes())


def _row(standing: Standing) -> str:
    measure = standing.measure
    mark = "*" if standing.is_remarkable else " "
    value = measure.in_words(standing.value)
    return f"{mark} {value:>20}  {100 * standing.rank_share:4.0f}  {measure.phrase}"


def _alike(heading: str, found: tuple[Likeness, ...]) -> list[str]:
    if not found:
        return []
    return ["", heading, *(line for one in found for line in _alike_lines(one))]


def _alike_lines(one: Likeness) -> list[str]:
    bars = f"bars {one.first_bar}–{one.last_bar}"
    names = ", ".join(name for name in (one.title, one.part, bars) if name)
    both = ", ".join(measure.phrase for measure in one.shared[:3])
    shares = f"distance {one.distance:.2f}, {100 * one.turns_share:.0f} % of the turns"
    return [f"  {one.file}: {names}", f"    {shares}" + (f"; both: {both}" if both else "")]
