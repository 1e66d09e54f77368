"""The notebooks of the documents run from top to bottom, and each shows what it speaks of."""

from pathlib import Path
from typing import Any

import nbformat
import pytest
from nbclient import NotebookClient

FOLDER = Path(__file__).parents[1] / "docs" / "notebooks"
NOTEBOOKS = sorted(FOLDER.glob("*.ipynb"))
LONGEST_SECONDS = 60


def read(path: Path) -> Any:
    return nbformat.read(path, as_version=4)  # type: ignore[no-untyped-call]


def test_there_are_notebooks() -> None:
    assert len(NOTEBOOKS) == 3


@pytest.mark.parametrize("path", NOTEBOOKS, ids=lambda path: path.stem)
def test_a_notebook_runs_and_every_picture_is_shown(path: Path) -> None:
    book = read(path)
    # Any error in a cell is raised here.
    NotebookClient(
        book, timeout=LONGEST_SECONDS, resources={"metadata": {"path": FOLDER}}
    ).execute()
    for cell in book.cells:
        if cell.cell_type == "code" and cell.source.splitlines()[-1].startswith("riffract.draw("):
            shown = [o.data.get("image/svg+xml", "") for o in cell.outputs if "data" in o]
            assert [text.startswith("<svg ") for text in shown] == [True]


@pytest.mark.parametrize("path", NOTEBOOKS, ids=lambda path: path.stem)
def test_a_notebook_is_kept_without_what_it_prints(path: Path) -> None:
    """Outputs would make every run a change, and could differ from what the code gives now."""
    book = read(path)
    nbformat.validate(book)
    assert all(c.outputs == [] for c in book.cells if c.cell_type == "code")


@pytest.mark.parametrize("path", NOTEBOOKS, ids=lambda path: path.stem)
def test_links_of_a_notebook_lead_somewhere(path: Path) -> None:
    text = "\n".join(cell.source for cell in read(path).cells if cell.cell_type == "markdown")
    targets = [part.partition(")")[0] for part in text.split("](")[1:]]
    assert targets == [target for target in targets if (FOLDER / target).exists()]
