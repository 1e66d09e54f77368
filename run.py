"""Set Riffract up in a virtual environment beside this file, and run it.

    python3 run.py demo             the whole job on the built-in essay
    python3 run.py test             every check that the project has
    python3 run.py riffract ARGS    any command, e.g. `riffract study riff.tab`

Needs Python 3.11 to 3.14 and nothing else. Everything is installed in the folder `.venv`, from
the versions and hashes pinned in `requirements/`; the second time it starts at once.
"""

from __future__ import annotations  # an older Python must be able to read this far

import hashlib
import os
import shutil
import subprocess
import sys
from pathlib import Path

ROOT = Path(__file__).resolve().parent
VENV = ROOT / ".venv"
OLDEST_PYTHON, NEWEST_PYTHON = (3, 11), (3, 14)  # for these the pinned packages are there
BIN = VENV / ("Scripts" if os.name == "nt" else "bin")
PYTHON = BIN / ("python.exe" if os.name == "nt" else "python")


def main(arguments: list[str]) -> int:
    """Do what the first argument says; give the exit code."""
    if not OLDEST_PYTHON <= sys.version_info[:2] <= NEWEST_PYTHON:
        print(f"Riffract needs Python 3.11 to 3.14; this is {sys.version.split()[0]}.")
        return 2
    # No `match`, for the same reason.
    what, rest = arguments[:1], arguments[1:]
    if what == ["demo"]:
        return install("run.txt") or riffract("demo", *rest)
    if what == ["riffract"]:
        return install("run.txt") or riffract(*rest)
    if what == ["test"]:
        return install("test.txt") or test(*rest)
    print(__doc__)
    return 0 if arguments in (["--help"], ["-h"]) else 2


def install(pins: str) -> int:
    """Bring the environment up to date; do nothing if it is."""
    wanted = fingerprint(pins)
    stamp = VENV / f"installed-{pins}"
    if PYTHON.exists() and stamp.exists() and stamp.read_text(encoding="utf-8") == wanted:
        return 0
    print("Setting up Riffract in .venv (the first time takes a minute or two) …", flush=True)
    if not PYTHON.exists() and make_environment():
        return 1
    pip = [str(PYTHON), "-m", "pip", "install", "--quiet", "--disable-pip-version-check"]
    locked = ["--require-hashes", "--only-binary", ":all:", "-r", str(ROOT / "requirements" / pins)]
    package = ["--no-deps", "--no-build-isolation", "--editable", str(ROOT)]
    for step in (locked, package):
        if subprocess.run([*pip, *step], check=False).returncode:
            print("\nThe set-up did not finish. Check the network connection and run it again.")
            print("Where a package is not found: README.md names the systems that it runs on.")
            return 1
    stamp.write_text(wanted, encoding="utf-8")
    return 0


def make_environment() -> int:
    """Make the virtual environment, and say plainly what is missing if that cannot be done."""
    made = subprocess.run(
        [sys.executable, "-m", "venv", str(VENV)], check=False, capture_output=True, text=True
    )
    if made.returncode == 0:
        return 0
    shutil.rmtree(VENV, ignore_errors=True)
    print(made.stdout + made.stderr)
    print(
        "Python cannot make a virtual environment here. On Debian and Ubuntu the part that is\n"
        f"missing is a package: sudo apt install python3-venv\n(this Python: {sys.executable})"
    )
    return 1


def fingerprint(pins: str) -> str:
    """Tell one state of Python, place and pins from another."""
    parts = [sys.version, str(ROOT), *(p.read_text(encoding="utf-8") for p in pinned_files(pins))]
    return hashlib.sha256("\0".join(parts).encode()).hexdigest()


def pinned_files(pins: str) -> tuple[Path, ...]:
    """List the files that decide what is installed."""
    return (ROOT / "requirements" / pins, ROOT / "pyproject.toml")


def riffract(*arguments: str) -> int:
    """Run a command of the package."""
    command = [str(PYTHON), "-m", "riffract", *arguments]
    try:
        return subprocess.run(command, check=False).returncode
    except KeyboardInterrupt:
        return 130


def test(*only: str) -> int:
    """Run every check, or only the tests that are named; give 1 if any fails."""
    python = (str(PYTHON), "-m")
    tests = ("tests", (*python, "pytest", "-n", "auto", *only))
    checks = [
        ("style", (*python, "ruff", "check", ".")),
        ("layout", (*python, "ruff", "format", "--check", ".")),
        ("types", (*python, "mypy")),
        ("rooms", (str(BIN / "lint-imports"),)),
        tests,
    ]
    # Tests fill every core by themselves; the matrix library's own threads would only wait in line.
    environment = {"OPENBLAS_NUM_THREADS": "1", **os.environ}
    failed = []
    for name, command in [tests] if only else checks:
        print(f"— {name}", flush=True)
        if subprocess.run(command, cwd=ROOT, env=environment, check=False).returncode:
            failed.append(name)
    if failed:
        print(f"\nFailed: {', '.join(failed)}.")
    return 1 if failed else 0


if __name__ == "__main__":
    sys.exit(main(sys.argv[1:]))
