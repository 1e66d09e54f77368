"""The Argue desk: which findings are claimed, in which order and words."""

from collections.abc import Callable
from typing import Any

import msgspec
import tomlkit

from riffract.essay.claim_edits import (
    with_claim_field,
    with_claim_moved,
    with_row_added,
    without_claim,
)
from riffract.essay.folder import CLAIMS_FILE
from riffract.studio.arguing import argument, claim_of, claims_as_proposed, claims_faults
from riffract.studio.channel import Action, Actions, Nothing
from riffract.studio.problems import RefusedError
from riffract.studio.settings_change import change_part, settings_of
from riffract.studio.studio import Studio
from riffract.studio.worker import worked

_FIELD_NAMES = {
    "title": "claim reworded",
    "scene": "another picture",
    "finding": "another finding",
    "lines": "words",
    "play": "excerpts",
    "take": "another take",
    "line_starts": "times of the words",
}


class ClaimField(msgspec.Struct, frozen=True, kw_only=True):
    """A new value of a field of a claim; claims count from 0."""

    at: int
    field: str
    value: Any


class ClaimMove(msgspec.Struct, frozen=True, kw_only=True):
    """A claim and its new number."""

    at: int
    to: int


class ClaimAt(msgspec.Struct, frozen=True):
    """A claim's number."""

    at: int


class ClaimAdded(msgspec.Struct, frozen=True, kw_only=True):
    """A finding that becomes a claim, or none for an observation, and the claim's number."""

    finding: str = ""
    at: int | None = None


class Observation(msgspec.Struct, frozen=True, kw_only=True):
    """What the analyst has set or seen by hand: one sentence, and the bars it is about."""

    title: str
    bars: str
    lines: tuple[str, ...] = ()
    scene: str = "page"


class Target(msgspec.Struct, frozen=True):
    """How long the film should be, in seconds; `None` for no aim."""

    seconds: float | None


def actions(studio: Studio) -> Actions:
    """List what can be asked for."""
    return {
        "argue.look": Action(Nothing, lambda _: _look(studio)),
        "argue.take": Action(Nothing, lambda _: _take(studio)),
        "argue.set": Action(ClaimField, lambda wanted: _set(studio, wanted)),
        "argue.move": Action(ClaimMove, lambda wanted: _move(studio, wanted)),
        "argue.remove": Action(ClaimAt, lambda wanted: _remove(studio, wanted)),
        "argue.add": Action(ClaimAdded, lambda wanted: _add(studio, wanted)),
        "argue.own": Action(Observation, lambda wanted: _own(studio, wanted)),
        "argue.target": Action(Target, lambda wanted: _target(studio, wanted)),
    }


async def _look(studio: Studio) -> dict[str, Any]:
    revision = studio.open_document.revision
    seen = await worked(studio.desk_worker.do(argument, str(studio.folder)))
    return {"revision": revision, "target_seconds": _aim(studio), **msgspec.to_builtins(seen)}


async def _take(studio: Studio) -> Any:
    """Write the proposed claims down, so that they can be changed."""
    document = studio.open_document
    if CLAIMS_FILE in document.texts:
        raise RefusedError("claims have been chosen already", mend="change those")
    text = await worked(studio.desk_worker.do(claims_as_proposed, str(studio.folder)))
    document.change("proposed claims taken", {CLAIMS_FILE: text}, desk="argue")
    return studio.changed()


async def _add(studio: Studio, wanted: ClaimAdded) -> Any:
    document = studio.open_document
    folder = str(studio.folder)
    row = await worked(studio.desk_worker.do(claim_of, folder, wanted.finding))
    text = document.texts.get(CLAIMS_FILE)
    if text is None:
        text = await worked(studio.desk_worker.do(claims_as_proposed, folder))
    count = len(tomlkit.parse(text).get("claim", []))
    at = count if wanted.at is None else min(max(wanted.at, 0), count)
    label = "claim added" if wanted.finding else "observation added"
    document.change(label, {CLAIMS_FILE: with_row_added(text, row, at=at)}, desk="argue")
    return {**studio.changed(), "at": at}


async def _own(studio: Studio, wanted: Observation) -> Any:
    """Keep an observation as a claim of the analyst's own, marked as such wherever it goes."""
    title = wanted.title.strip()
    if not title:
        raise RefusedError("an observation needs its sentence", mend="write it down")
    if CLAIMS_FILE not in studio.open_document.texts:
        await _take(studio)
    row = {
        "title": title,
        "scene": wanted.scene,
        "lines": list(wanted.lines),
        "play": [{"bars": wanted.bars}],
    }
    text = studio.open_document.texts[CLAIMS_FILE]
    count = len(tomlkit.parse(text).get("claim", []))
    return await _change(studio, "observation kept", lambda old: with_row_added(old, row, at=count))


def _set(studio: Studio, wanted: ClaimField) -> Any:
    label = f"{_FIELD_NAMES.get(wanted.field, wanted.field)}, claim {wanted.at + 1}"
    return _change(
        studio,
        label,
        lambda text: with_claim_field(text, wanted.at, wanted.field, wanted.value),
        joins=f"claim {wanted.at} {wanted.field}",
    )


def _move(studio: Studio, wanted: ClaimMove) -> Any:
    label = f"claim {wanted.at + 1} put at place {wanted.to + 1}"
    return _change(studio, label, lambda text: with_claim_moved(text, wanted.at, wanted.to))


def _remove(studio: Studio, wanted: ClaimAt) -> Any:
    label = f"claim {wanted.at + 1} taken out"
    return _change(studio, label, lambda text: without_claim(text, wanted.at))


async def _change(
    studio: Studio, label: str, make: Callable[[str], str], *, joins: str = ""
) -> Any:
    """Change the claims, unless that would make a mistake in them."""
    document = studio.open_document
    text = document.texts.get(CLAIMS_FILE)
    if text is None:
        raise RefusedError("these claims are only proposed", mend="take them first")
    try:
        new = make(text)
    except (IndexError, ValueError) as error:
        raise RefusedError(str(error), mend="look at the claims again") from error
    faults = await worked(studio.desk_worker.do(claims_faults, str(studio.folder), new))
    if faults:
        raise RefusedError(faults[0].what, mend=faults[0].mend)
    if document.texts.get(CLAIMS_FILE) != text:
        raise RefusedError("the claims have changed elsewhere meanwhile", mend="do it once more")
    document.change(label, {CLAIMS_FILE: new}, joins=joins, desk="argue")
    return studio.changed()


def _aim(studio: Studio) -> float | None:
    aim = settings_of(studio).get("film", {}).get("target_seconds")
    return float(aim) if isinstance(aim, (int, float)) else None


def _target(studio: Studio, wanted: Target) -> Any:
    def put(film: Any) -> None:
        film.pop("target_seconds", None)
        if wanted.seconds is not None:
            film["target_seconds"] = round(min(max(wanted.seconds, 5.0), 3600.0), 1)

    return change_part(studio, "film", "length aimed at", put, desk="argue")
