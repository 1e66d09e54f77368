"""The built-in essay's files, put into a folder."""

from importlib.resources import files
from pathlib import Path
from typing import Final

from riffract.essay.beside import write_whole

DEMO_FILES: Final = ("essay.toml", "passage.tab", "claims.toml", "words.de.toml")


def put_demo(folder: Path) -> None:
    """Write the built-in essay's files; a folder that is not there yet is made.

    Raises:
        OSError: if that cannot be done.
    """
    folder.mkdir(parents=True, exist_ok=True)
    for name in DEMO_FILES:
        write_whole(folder / name, (files("riffract.demo") / name).read_bytes())
