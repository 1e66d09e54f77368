"""Names of files that lead out of an essay's folder."""

from os.path import realpath
from pathlib import Path


def leads_out(folder: Path, name: str) -> bool:
    """Tell whether a name leads out of a folder, by `..`, as a whole path or by a link.

    A link that leads to itself leads nowhere: whoever opens it is told that.

    >>> leads_out(Path("/essays/tide"), "../ebb/take.wav"), leads_out(Path("/essays/tide"), "a.wav")
    (True, False)
    """
    # Path.resolve breaks off at links that lead in a circle.
    return not Path(realpath(folder / name)).is_relative_to(realpath(folder))
