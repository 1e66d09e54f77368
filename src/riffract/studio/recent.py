"""Which essays were open lately, so that they can be opened again without looking for them."""

import os
import sys
from collections.abc import Mapping
from pathlib import Path
from typing import Final

import msgspec

from riffract.essay.beside import write_whole
from riffract.essay.folder import is_essay

MOST: Final = 12
_FILE: Final = "recent.json"


def state_folder(environment: Mapping[str, str] = os.environ) -> Path:
    """Give the folder for what a program remembers, as each system has it."""
    home = Path.home()
    if sys.platform == "win32":
        return Path(environment.get("LOCALAPPDATA", home / "AppData" / "Local")) / "Riffract"
    if sys.platform == "darwin":
        return home / "Library" / "Application Support" / "Riffract"
    return Path(environment.get("XDG_STATE_HOME") or home / ".local" / "state") / "riffract"


def recent(state: Path) -> tuple[Path, ...]:
    """List the essays that were open lately and are still there, the last one first."""
    try:
        names = msgspec.json.decode((state / _FILE).read_bytes(), type=list[str])
    except (OSError, msgspec.DecodeError):
        return ()
    return tuple(path for path in map(Path, names) if is_essay(path))


def remember(state: Path, folder: Path) -> None:
    """Put an essay first among the recent ones; where nothing can be written, nothing is kept."""
    folder = folder.resolve()
    others = [path for path in recent(state) if path != folder]
    try:
        state.mkdir(parents=True, exist_ok=True)
        names = [str(path) for path in (folder, *others)][:MOST]
        write_whole(state / _FILE, msgspec.json.encode(names))
    except OSError:
        return
