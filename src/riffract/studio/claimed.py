"""One app an essay: two of them would write over each other's history."""

import json
from contextlib import suppress
from hashlib import sha256
from http.client import HTTPConnection, HTTPException
from pathlib import Path
from typing import Final

from riffract.essay.beside import write_whole

OPEN_FILE: Final = ".riffract/open.json"
ANSWER_SECONDS: Final = 0.5


def mark(folder: Path) -> str:
    """Name a folder without telling where it lies."""
    return sha256(str(folder.resolve()).encode()).hexdigest()[:32]


def claim(folder: Path, port: int) -> None:
    """Say that an app at this port has the essay open."""
    path = folder / OPEN_FILE
    path.parent.mkdir(exist_ok=True)
    write_whole(path, json.dumps({"port": port}))


def release(folder: Path) -> None:
    """Say that no app has the essay open any more."""
    with suppress(OSError):
        (folder / OPEN_FILE).unlink(missing_ok=True)


def is_open_elsewhere(folder: Path, own_port: int) -> bool:
    """Ask whether another app that is still there has the essay open.

    A crashed app leaves its claim behind; nobody answers for it, or somebody else does.
    """
    try:
        port = int(json.loads((folder / OPEN_FILE).read_text(encoding="utf-8"))["port"])
    except (OSError, ValueError, KeyError, TypeError):
        return False
    if port == own_port or not 0 < port < 65_536:
        return False
    connection = HTTPConnection("127.0.0.1", port, timeout=ANSWER_SECONDS)
    try:
        connection.request("GET", "/alive")
        return connection.getresponse().read(200).decode("latin-1") == f"riffract {mark(folder)}"
    except (OSError, HTTPException):
        return False
    finally:
        connection.close()
