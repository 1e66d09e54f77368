"""The look that an essay asks for: a built-in one, or that of a look file in its folder."""

from riffract.essay.folder import SETTINGS_FILE, Essay, FileProblem
from riffract.essay.leads_out import leads_out
from riffract.formats.problem import Problem
from riffract.picture.look import LOOKS
from riffract.picture.look_file import OwnLook, read_look


def look_of(essay: Essay) -> tuple[OwnLook | None, tuple[FileProblem, ...]]:
    """Give the look of an essay, and what is wrong with it; `None` if it cannot be used."""
    name = essay.settings.film.look
    if name in LOOKS:
        return OwnLook(look=LOOKS[name]), ()
    if leads_out(essay.folder, name):
        outside = Problem(
            what=f"the look file {name} lies outside the essay's folder",
            mend="copy it into the folder",
            place="film.look",
        )
        file = str(essay.folder / SETTINGS_FILE)
        return None, (FileProblem(file=file, problem=outside),)
    path = essay.folder / name
    own, problems = read_look(path)
    return own, tuple(FileProblem(file=str(path), problem=problem) for problem in problems)
