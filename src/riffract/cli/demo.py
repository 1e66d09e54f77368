"""`riffract demo`: the whole job on the built-in essay."""

from pathlib import Path

from riffract.cli.exit_codes import PROBLEM
from riffract.cli.publish import publish_essay
from riffract.cli.subject import show
from riffract.essay.demo_files import put_demo
from riffract.essay.folder import FileProblem, is_essay, open_essay
from riffract.formats.problem import Problem
from riffract.publish.parts import USUAL_PARTS


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
        put_demo(folder)
    opened = open_essay(folder)
    show(opened.problems)
    if opened.essay is None:
        return PROBLEM
    print(f"{folder}: the built-in essay. Making everything …", flush=True)
    return publish_essay(opened.essay, USUAL_PARTS, opened.essay.out)
