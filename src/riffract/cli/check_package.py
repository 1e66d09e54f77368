"""`riffract check` of a package that somebody else made."""

from pathlib import Path

from riffract import __version__
from riffract.cli.exit_codes import DONE, PROBLEM
from riffract.cli.subject import show
from riffract.essay.folder import FileProblem, SeededStudy, is_essay
from riffract.formats.problem import Problem
from riffract.publish.manifest import Manifest, read_manifest
from riffract.publish.package_check import file_problems, numbers_again, plainly
from riffract.publish.parts import FINDINGS_FILE, MANIFEST_FILE


def is_package(path: Path) -> bool:
    """Say whether a path is a folder of things that went out, and no essay, or its manifest."""
    try:
        if path.name == MANIFEST_FILE:
            return path.is_file()
        went_out = (path / MANIFEST_FILE).exists() or (path / FINDINGS_FILE).exists()
        return path.is_dir() and not is_essay(path) and went_out
    except OSError:
        # The system refuses even to look; what is read next says why.
        return False


def check_package(folder: Path, study_of: SeededStudy) -> int:
    """Say whether a package is whole and its numbers come out again; give the exit code."""
    folder = folder.parent if folder.name == MANIFEST_FILE else folder
    manifest = read_manifest(folder / MANIFEST_FILE)
    if isinstance(manifest, Problem):
        show([FileProblem(file=str(folder / MANIFEST_FILE), problem=manifest)])
        return PROBLEM
    print(f"{folder}: {_described(manifest)}.")
    found = [FileProblem(file=str(folder), problem=p) for p in file_problems(folder, manifest)]
    show(found)
    if any(problem.is_error for problem in found):
        print(f"{folder}: it is not whole, so its numbers were not made again.")
        return PROBLEM
    print(f"{folder}: all of them are whole and unchanged.", flush=True)
    if manifest.riffract != __version__:
        print(f"{folder}: {_other_version(manifest)}", flush=True)
    numbers = numbers_again(folder, manifest, study_of)
    again = [FileProblem(file=str(folder), problem=p) for p in numbers.problems]
    show(again)
    if any(problem.is_error for problem in again):
        return PROBLEM
    if numbers.count is not None:
        print(f"{folder}: studied again, all {numbers.count} findings come out the same.")
    return DONE


def _other_version(manifest: Manifest) -> str:
    return (
        f"this is version {__version__}; where an analysis has changed since "
        f"{plainly(manifest.riffract)}, numbers differ without anybody's fault."
    )


def _described(manifest: Manifest) -> str:
    count = len(manifest.files)
    files = f"{count} file{'' if count == 1 else 's'}"
    version, title = plainly(manifest.riffract), plainly(manifest.title)
    return f"{title}, made by version {version} with seed {manifest.seed}; {files}"
