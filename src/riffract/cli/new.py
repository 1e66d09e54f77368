"""`riffract new`: start an essay."""

from pathlib import Path

from riffract.analysis.saying import said_in
from riffract.cli.exit_codes import DONE, PROBLEM
from riffract.cli.subject import show
from riffract.essay.folder import CLAIMS_FILE, SETTINGS_FILE, FileProblem, new_essay
from riffract.essay.translation import Translation
from riffract.formats.reading import ReadChoices
from riffract.publish.languages import language_for
from riffract.weighing.weigh import study_passage


def new(
    folder: Path, passage: Path | None, choices: ReadChoices, *, seed: int, language: str
) -> int:
    """Start an essay in a new folder; give the exit code."""
    chosen, problems = language_for(Translation(code=language))
    with said_in(chosen):
        opened = new_essay(
            folder,
            passage,
            lambda music: study_passage(music, seed=seed),
            choices=choices,
            language=language,
        )
    unknown = [FileProblem(file=language, problem=problem) for problem in problems]
    show((*unknown, *opened.problems))
    if opened.essay is None:
        return PROBLEM
    print(f"{folder}: started.")
    print(f"  {opened.essay.settings.passage}  the music")
    print(f"  {SETTINGS_FILE}  title, credits, rights, film")
    if opened.essay.claims_source is not None:
        print(f"  {CLAIMS_FILE}  proposed claims: change, move or delete them")
    print(f"Next: riffract study {folder}, then riffract publish {folder}")
    return DONE
