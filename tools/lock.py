"""Pin what the project needs, with hashes, for every system and Python at once.

Needs `uv` on the path. Run it after changing the dependencies in pyproject.toml.
"""

import subprocess
from pathlib import Path

ROOT = Path(__file__).parents[1]
COMMON = (
    *("--universal", "--python-version", "3.11", "--fork-strategy", "fewest"),
    *("--generate-hashes", "--no-header", "--no-annotate", "--no-emit-index-url", "--upgrade"),
)


def pin(target: str, *extra: str) -> None:
    """Write one file of pins below `requirements/`."""
    inputs = ("pyproject.toml", "requirements/run.in")
    command = ("uv", "pip", "compile", *inputs, *extra, *COMMON, "--quiet", "-o", target)
    subprocess.run(command, cwd=ROOT, check=True)


if __name__ == "__main__":
    pin("requirements/run.txt")
    pin("requirements/test.txt", "--extra", "test", "-c", "requirements/run.txt")
