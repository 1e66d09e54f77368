"""`riffract check` of a package that somebody else made."""

from pathlib import Path

from riffract.cli.main import DONE, PROBLEM
from riffract.cli.subject import show
from riffract.essay.folder import FileProblem, SeededStudy, is_essay
from riffract.formats.problem import Problem
from riffract.publish.manifest import Manifest, read_manifest
from riffract.publish.package_check import file_problems, numbers_again, plainly
from riffract.publish.parts import MANIFEST_FILE


def is_package(path: Path) -> bool:
    """Say whether a path is a folder of things that went out, and no essay."""
    try:
        return path.is_dir() and not is_essay(path) and (path / MANIFEST_FILE).exists()
    except OSError:
        # The system refuses even to look; what is read next says why.
        return False


def check_package(folder: Path, study_of: SeededStudy) -> int:
    """Say whether a package is whole and its numbers come out again; give the exit code."""
    manifest = read_manifest(folder / MANIFEST_FILE)
    if isinstance(manifest, Problem):
        show([FileProblem(file=str(folder / MANIFEST_FILE), problem=manifest)])
        return PROBLEM
    print(f"{folder}: {_described(manifest)}.")
    found = [FileProblem(file=str(folder), problem=p) for p in file_problems(folder, manifest)]
    show(found)
    if any(problem.is_error for problem in found):
        return PROBLEM
    print(f"{folder}: all of them are whole and unchanged.", flush=True)
    numbers = numbers_again(folder, manifest, study_of)
    again = [FileProblem(file=str(folder), problem=p) for p in numbers.problems]
    show(again)
    if any(problem.is_error for problem in again):
        return PROBLEM
    if numbers.count is not None:
        print(f"{folder}: studied again, all {numbers.count} findings come out the same.")
    return DONE


def _described(manifest: Manifest) -> str:
    count = len(manifest.files)
    files = f"{count} file{'' if count == 1 else 's'}"
    version, title = plainly(manifest.riffract), plainly(manifest.title)
    return f"{title}, made by version {version} with seed {manifest.seed}; {files}"
