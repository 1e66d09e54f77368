"""Publishing from Python: what `riffract publish` does, with an answer instead of printed lines."""

import warnings
from collections.abc import Collection, Iterable
from pathlib import Path

from riffract.essay.folder import FileProblem, open_essay
from riffract.publish.going_out import going_out
from riffract.publish.parts import USUAL_PARTS, Part
from riffract.publish.published import Published


class EssayError(ValueError):
    """An essay that cannot be published; its message tells every mistake, and the mend."""


def publish_essay(
    folder: str | Path, parts: Collection[str] = USUAL_PARTS, *, out: str | Path | None = None
) -> Published:
    """Make what goes out of an essay.

    Args:
        folder: of the essay.
        parts: what to make, as `film` or `page`; all that is usual if not given.
        out: where to; the essay's own `out` if not given.

    Returns:
        The files that were written, and what is wrong with them.

    Warns:
        UserWarning: of what is legal but suspicious.

    Raises:
        EssayError: if the essay has a mistake.
        ValueError: if there is no such part.
    """
    chosen = _parts(parts)
    opened = open_essay(Path(folder))
    essay = opened.essay
    _told(opened.problems)
    if essay is None:
        raise EssayError(f"{folder}: there is no essay\n  mend: riffract new {folder}")
    ready, problems = going_out(essay)
    _told(problems)
    if ready is None:
        raise EssayError(f"{folder}: it cannot be published")
    recording = ready.recording(chosen)
    if isinstance(recording, FileProblem):
        raise EssayError(recording.text())
    return ready.publish(chosen, recording, out=None if out is None else Path(out))


def _parts(names: Collection[str]) -> frozenset[Part]:
    unknown = [name for name in names if name not in set(Part)]
    if unknown:
        raise ValueError(f"parts are any of {', '.join(Part)}, got {', '.join(unknown)}")
    return frozenset(Part(name) for name in names)


def _told(problems: Iterable[FileProblem]) -> None:
    """Raise all that is wrong at once; what is only suspicious is a warning."""
    all_of_them = tuple(problems)
    errors = [problem.text() for problem in all_of_them if problem.is_error]
    if errors:
        raise EssayError("\n".join(errors))
    for problem in all_of_them:
        warnings.warn(problem.text(), stacklevel=3)
