"""Recorded narration: the take that each claim is spoken with, and when its words come.

Takes lie in `takes/` and are never changed. `claims.toml` says with each claim which one is used.
"""

from collections.abc import Mapping, Sequence
from functools import lru_cache
from pathlib import Path
from typing import Final

from riffract.essay.claims import Claim
from riffract.essay.leads_out import leads_out
from riffract.formats.problem import Problem, Severity
from riffract.sound.files import read_sound
from riffract.sound.reading.one_channel import read_mono
from riffract.sound.sound import Sound, SoundProblem

TAKES_FOLDER: Final = "takes"


def take_seconds(folder: Path, claims: Sequence[Claim]) -> Mapping[str, float]:
    """Tell how long each chosen take lasts, by its name; those that cannot be read are left out."""
    lengths = {name: _length_seconds(folder, name) for name in _names(claims)}
    return {name: seconds for name, seconds in lengths.items() if seconds > 0.0}


def read_takes(folder: Path, claims: Sequence[Claim]) -> Mapping[str, Sound]:
    """Read every chosen take that can be read, by its name."""
    read = {
        name: read_sound(folder / name) for name in _names(claims) if not leads_out(folder, name)
    }
    return {name: sound for name, sound in read.items() if isinstance(sound, Sound)}


def take_problems(folder: Path, claims: Sequence[Claim]) -> tuple[Problem, ...]:
    """Warn of chosen takes that cannot be used; their claims are shown as if nobody spoke."""
    found = []
    for number, claim in enumerate(claims, start=1):
        wrong = _problem(folder, claim.take) if claim.take else None
        if wrong is not None:
            found.append(
                Problem(
                    what=wrong.what,
                    mend=wrong.mend,
                    place=f"claim {number}, take",
                    severity=Severity.WARNING,
                )
            )
    return tuple(found)


def _names(claims: Sequence[Claim]) -> list[str]:
    return list(dict.fromkeys(claim.take for claim in claims if claim.take))


def _problem(folder: Path, name: str) -> SoundProblem | None:
    if leads_out(folder, name):
        return SoundProblem(
            what=f"the take {name} lies outside the essay's folder",
            mend=f"copy it into {TAKES_FOLDER}/",
        )
    if _length_seconds(folder, name) > 0.0:
        return None
    sound = read_mono(folder / name)
    if isinstance(sound, SoundProblem):
        return sound
    return SoundProblem(what=f"the take {name} is silent", mend="record it again")


def _length_seconds(folder: Path, name: str) -> float:
    path = folder / name
    if leads_out(folder, name) or not path.is_file():
        return 0.0
    return _measured_seconds(str(path), path.stat().st_mtime_ns)


@lru_cache(maxsize=256)
def _measured_seconds(path: str, _changed: int) -> float:
    """Count a take's samples: what a browser has recorded often does not say how long it is."""
    sound = read_mono(Path(path))
    return 0.0 if isinstance(sound, SoundProblem) else sound.length_seconds
