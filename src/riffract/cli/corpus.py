"""`riffract corpus build`: measure a folder of music, so that passages can be compared with it."""

import sys
from collections.abc import Iterator
from contextlib import contextmanager
from pathlib import Path

from riffract.cli.exit_codes import DONE, PROBLEM
from riffract.cli.subject import show
from riffract.essay.corpus.build import Built, build_corpus
from riffract.essay.corpus.index import CorpusError, index_at
from riffract.essay.corpus.reading import Progress, Reading
from riffract.essay.folder import FileProblem
from riffract.formats.problem import Problem
from riffract.formats.reading import ReadChoices
from riffract.publish.corpus_answer import as_text, corpus_answer
from riffract.weighing.comparing.comparison import counted


def build(
    folder: Path,
    into: Path | None,
    choices: ReadChoices,
    *,
    title: str | None,
    provenance: str | None,
    is_anew: bool,
    as_json: bool,
) -> int:
    """Bring the index of a folder up to date and say what is in it; give the exit code."""
    if not folder.is_dir():
        return _failed(
            folder, Problem(what="there is no such folder", mend="name a folder with music in it")
        )
    index = index_at(folder if into is None else into)
    try:
        with _progress() as progress:
            built = build_corpus(
                folder,
                index,
                title=title,
                provenance=provenance,
                reading=Reading(choices=choices, progress=progress),
                is_anew=is_anew,
            )
    except CorpusError as error:
        return _failed(error.path, error.problem)
    show(built.problems)
    print(as_text(corpus_answer(built)) if as_json else summary(built), end="")
    return DONE if built.read else PROBLEM


def summary(built: Built) -> str:
    """Say in a few lines what a corpus holds and what was left out."""
    counts = (
        (built.too_short, "too short"),
        (built.copies, "the same as another"),
        (built.broken, "not readable (see above)"),
    )
    left_out = [f"{count} {why}" for count, why in counts if count]
    passages = [f"{count:,} of {attacks}" for attacks, count in built.passages.items()]
    lines = [
        f"{built.index}: {built.title}",
        f"  {counted(built.found, 'file')} of music, {built.read:,} measured"
        + (f"; left out: {', '.join(left_out)}" if left_out else ""),
        f"  passages by number of attacks: {', '.join(passages) or 'none'}",
        f"  {built.for_strings:,} of the files measured say on which strings they are played",
        f"  {counted(built.fresh, 'file')} read now, {built.removed:,} no longer there",
    ]
    return "\n".join(lines) + "\n"


def _failed(path: Path, problem: Problem) -> int:
    show([FileProblem(file=str(path), problem=problem)])
    return PROBLEM


@contextmanager
def _progress() -> Iterator[Progress]:
    """Show how many files are done; say nothing if nobody watches."""
    if not sys.stderr.isatty():
        yield lambda _done, _of: None
        return
    from rich.console import Console
    from rich.progress import BarColumn, MofNCompleteColumn, TextColumn, TimeRemainingColumn
    from rich.progress import Progress as Bar

    columns = (TextColumn("files"), BarColumn(), MofNCompleteColumn(), TimeRemainingColumn())
    with Bar(*columns, console=Console(stderr=True), transient=True) as bar:
        task = bar.add_task("files", total=None)
        yield lambda done, of: bar.update(task, completed=done, total=of)
