"""`riffract new`: start an essay."""

from pathlib import Path

from riffract.cli.main import DONE, PROBLEM
from riffract.cli.subject import show
from riffract.essay.folder import CLAIMS_FILE, SETTINGS_FILE, new_essay
from riffract.formats.reading import ReadChoices
from riffract.weighing.weigh import study_passage


def new(folder: Path, passage: Path | None, choices: ReadChoices, *, seed: int) -> int:
    """Start an essay in a new folder; give the exit code."""
    opened = new_essay(
        folder, passage, lambda music: study_passage(music, seed=seed), choices=choices
    )
    show(opened.problems)
    if opened.essay is None:
        return PROBLEM
    print(f"{folder}: started.")
    print(f"  {opened.essay.settings.passage}  the music")
    print(f"  {SETTINGS_FILE}  title, credits, rights, film")
    if opened.essay.claims_source is not None:
        print(f"  {CLAIMS_FILE}  proposed claims: change, move or delete them")
    print(f"Next: riffract study {folder}, then riffract publish {folder}")
    return DONE
