"""Publishing from Python: what `riffract publish` does, with an answer instead of printed lines."""

import warnings
from collections.abc import Collection, Iterable
from pathlib import Path

from riffract.essay.folder import Essay, FileProblem, claims_of, open_essay
from riffract.essay.recorded import recorded_sound
from riffract.picture.essay_look import look_of
from riffract.picture.type import set_in
from riffract.publish.material import material_of, translation_problems
from riffract.publish.package import publish
from riffract.publish.parts import SOUNDING_PARTS, USUAL_PARTS, Part
from riffract.publish.published import Published
from riffract.sound.sound import Sound
from riffract.weighing.weigh import study_passage


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
    study = study_passage(essay.passage, seed=essay.settings.seed, earlier=essay.earlier)
    claims, problems = claims_of(essay, study)
    own, look_problems = look_of(essay)
    _told((*problems, *translation_problems(essay, claims), *look_problems))
    if own is None:
        raise EssayError(f"{folder}: its look cannot be used")
    recording = _recording(essay) if chosen & SOUNDING_PARTS else None
    with set_in(own.family):
        material = material_of(essay, study, claims, recording, own.look)
        return publish(material, essay.out if out is None else Path(out), chosen)


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


def _recording(essay: Essay) -> Sound | None:
    sound = recorded_sound(essay)
    if isinstance(sound, FileProblem):
        raise EssayError(sound.text())
    return sound
