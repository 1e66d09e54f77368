"""`riffract open`: the app, in the browser of this machine."""

import asyncio
from pathlib import Path

from riffract.cli.exit_codes import DONE, PROBLEM
from riffract.cli.subject import show
from riffract.essay.folder import FileProblem, is_essay
from riffract.formats.problem import Problem
from riffract.studio.problems import RefusedError
from riffract.studio.server import serve


def open_app(folder: Path | None, *, port: int, with_browser: bool) -> int:
    """Serve the app until Ctrl-C; give the exit code."""
    if folder is not None and not is_essay(folder):
        wrong = Problem(
            what="this folder holds no essay",
            mend=f"start one with: riffract new {folder} (or in the app: riffract open)",
        )
        show([FileProblem(file=str(folder), problem=wrong)])
        return PROBLEM

    def say(address: str) -> None:
        print(f"Riffract is open at\n  {address}\nThe address works once. Ctrl-C closes the app.")

    try:
        if with_browser:
            serve(folder, port=port, say=say)
        else:
            serve(folder, port=port, say=say, browser=None)
    except (KeyboardInterrupt, asyncio.CancelledError):
        print("Closed; everything is saved.")
    except RefusedError as error:
        show([FileProblem(file=str(folder), problem=error.problem)])
        return PROBLEM
    except OSError as error:
        wrong = Problem(
            what=f"port {port} cannot be used: {error.strerror}", mend="choose another, or none"
        )
        show([FileProblem(file="riffract open", problem=wrong)])
        return PROBLEM
    return DONE
