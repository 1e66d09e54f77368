"""Every command line that the documents show is one that the program understands."""

import re
import shlex
from pathlib import Path

import pytest

from riffract.cli.main import command_line

ROOT = Path(__file__).parents[1]
DOCUMENTS = [ROOT / "README.md", *sorted((ROOT / "docs").glob("*.md"))]
LINE = re.compile(r"^(?: {4})?riffract ([^\n#`]+?)(?:  .*|#.*)?$", re.MULTILINE)


def shown() -> list[str]:
    """List the lines of code that begin with the program's name; what explains them is cut off."""
    texts = (document.read_text(encoding="utf-8") for document in DOCUMENTS)
    return sorted({line.strip() for text in texts for line in LINE.findall(text)})


def test_there_are_command_lines() -> None:
    assert len(shown()) > 20


@pytest.mark.parametrize("line", shown())
def test_a_command_line_is_understood(line: str) -> None:
    assert callable(command_line().parse_args(shlex.split(line)).run)
