"""How long `riffract --help` takes against an empty Python.

Run from the repository: python -m bench.start
"""

import subprocess
import sys

from bench.timing import machine, ratio, seconds

HELP = [sys.executable, "-m", "riffract", "--help"]
EMPTY = [sys.executable, "-c", ""]


def run(command: list[str]) -> None:
    """Run a command and throw its words away."""
    subprocess.run(command, check=True, stdout=subprocess.DEVNULL)


def main() -> None:
    print(machine())
    against = ratio(lambda: run(HELP), lambda: run(EMPTY), rounds=21)
    once = min(seconds(lambda: run(HELP)) for _ in range(5))
    print(f"riffract --help: {once:.3f} s, {against:.1f} × an empty Python")


if __name__ == "__main__":
    main()
