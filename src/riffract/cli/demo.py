"""`riffract demo`: the whole job on the built-in essay."""

from importlib.resources import files
from pathlib import Path
from typing import Final

from riffract.cli.main import PROBLEM
from riffract.cli.publish import publish_essay
from riffract.cli.subject import show
from riffract.essay.beside import write_whole
from riffract.essay.folder import FileProblem, is_essay, open_essay
from riffract.formats.problem import Problem
from riffract.publish.parts import USUAL_PARTS

DEMO_FILES: Final = ("essay.toml", "passage.tab", "claims.toml", "words.de.toml")


def demo(folder: Path) -> int:
    """Put the built-in essay into a folder, unless it is there, and publish it."""
    if not is_essay(folder):
        if folder.exists() and (not folder.is_dir() or any(folder.iterdir())):
            wrong = Problem(
                what="there is something here already, and nothing is ever overwritten",
                mend="name another folder, one that is empty or not there yet",
            )
            show([FileProblem(file=str(folder), problem=wrong)])
            return PROBLEM
        folder.mkdir(parents=True, exist_ok=True)
        for name in DEMO_FILES:
            write_whole(folder / name, (files("riffract.demo") / name).read_bytes())
    opened = open_essay(folder)
    show(opened.problems)
    if opened.essay is None:
        return PROBLEM
    print(f"{folder}: the built-in essay. Making everything …", flush=True)
    return publish_essay(opened.essay, USUAL_PARTS, opened.essay.out)
