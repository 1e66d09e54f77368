"""What a disk refuses while a command runs."""

import os
import sys
from pathlib import Path

from riffract.essay.disk import refusal


def told(error: OSError) -> bool:
    """Tell what was refused; say whether it was that, and not a mistake of ours perhaps."""
    problem = refusal(error)
    if problem is not None:
        print(problem.text(_place(error)), file=sys.stderr)
    return problem is not None


def _place(error: OSError) -> str:
    """Name the file that an error is about, or the folder of one that is not finished."""
    path = Path(os.fsdecode(error.filename or "riffract"))
    return str(path.parent if path.suffix == ".part" else path)
