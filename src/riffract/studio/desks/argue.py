"""The Argue desk: which findings are claimed, in which order and words."""

import tomllib
from collections.abc import Callable
from typing import Any, NamedTuple

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
from riffract.studio.claim_names import ClaimNames, number_of
from riffract.studio.problems import RefusedError
from riffract.studio.settings_change import change_part, settings_of
from riffract.studio.studio import Studio
from riffract.studio.text_edit import brought_together
from riffract.studio.worker import worked

_FIELD_NAMES = {
    "title": "claim reworded",
    "scene": "another picture",
    "finding": "another finding",
    "profile": "profile of the clock",
    "lines": "words",
    "play": "excerpts",
    "take": "another take",
    "line_starts": "times of the words",
}


class ClaimField(msgspec.Struct, frozen=True, kw_only=True):
    """A new value of a field of a claim, which is named as `argue.look` names it.

    Attributes:
        claim, field, value: as above.
        seen: the value that the person had before them when they began to change it; `None` if
            whoever is last is right. Words are brought together with what another page has made
            of them meanwhile, or that is told as a `clash`.
    """

    claim: str
    field: str
    value: Any
    seen: Any = None


class ClashError(Exception):
    """The same words were changed on another page meanwhile.

    Attributes:
        theirs: what they are now.
    """

    def __init__(self, theirs: Any) -> None:
        super().__init__("the same words were changed on another page meanwhile")
        self.theirs = theirs


class ClaimMove(msgspec.Struct, frozen=True, kw_only=True):
    """A claim by its name, and its new number, from 0."""

    claim: str
    to: int


class ClaimNamed(msgspec.Struct, frozen=True):
    """A claim's name."""

    claim: str


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


class Changed(NamedTuple):
    """The claims after a change.

    Attributes:
        text: of their file.
        label: what was done, in words.
        order: for each claim its number before; `None` for a new one.
    """

    text: str
    label: str
    order: tuple[int | None, ...]


def actions(studio: Studio) -> Actions:
    """List what can be asked for."""
    names = ClaimNames()
    return {
        "argue.look": Action(Nothing, lambda _: _look(studio, names)),
        "argue.take": Action(Nothing, lambda _: _take(studio, names)),
        "argue.set": Action(ClaimField, lambda wanted: _set(studio, names, wanted)),
        "argue.move": Action(ClaimMove, lambda wanted: _move(studio, names, wanted)),
        "argue.remove": Action(ClaimNamed, lambda wanted: _remove(studio, names, wanted)),
        "argue.add": Action(ClaimAdded, lambda wanted: _add(studio, names, wanted)),
        "argue.own": Action(Observation, lambda wanted: _own(studio, names, wanted)),
        "argue.target": Action(Target, lambda wanted: _target(studio, wanted)),
    }


async def _look(studio: Studio, names: ClaimNames) -> dict[str, Any]:
    """Say how the argument stands; claims that are only proposed have no names yet."""
    folder, revision = studio.folder, studio.open_document.revision
    seen = await worked(studio.desk_worker.do(argument, str(folder)))
    named = () if seen.source is None else names.of(folder, seen.source)
    told = msgspec.to_builtins(seen)
    told["is_proposed"] = told.pop("source") is None
    for number, claim in enumerate(told["claims"]):
        claim["name"] = named[number] if number < len(named) else ""
    return {"revision": revision, "target_seconds": _aim(studio), **told}


async def _take(studio: Studio, names: ClaimNames) -> Any:
    """Write the proposed claims down, so that they can be changed; tell how they are named."""
    text = await _written(studio)
    document = studio.open_document
    titles = [row.get("title", "") for row in tomllib.loads(text).get("claim", [])]
    named = names.of(document.folder, text)
    return {**studio.changed(), "taken": list(zip(named, titles, strict=True))}


async def _written(studio: Studio) -> str:
    """Give the text of the claims; those that are only proposed are written down first."""
    if CLAIMS_FILE not in studio.open_document.texts:
        text = await worked(studio.desk_worker.do(claims_as_proposed, str(studio.folder)))
        document = studio.open_document
        if CLAIMS_FILE not in document.texts:
            document.change("proposed claims taken", {CLAIMS_FILE: text}, desk="argue")
    return studio.open_document.texts[CLAIMS_FILE]


async def _add(studio: Studio, names: ClaimNames, wanted: ClaimAdded) -> Any:
    folder = str(studio.folder)
    row = await worked(studio.desk_worker.do(claim_of, folder, wanted.finding))
    text = studio.open_document.texts.get(CLAIMS_FILE)
    if text is None:
        text = await worked(studio.desk_worker.do(claims_as_proposed, folder))
    document = studio.open_document
    count = len(tomlkit.parse(text).get("claim", []))
    at = count if wanted.at is None else min(max(wanted.at, 0), count)
    names.of(document.folder, text)
    label = "claim added" if wanted.finding else "observation added"
    new = with_row_added(text, row, at=at)
    document.change(label, {CLAIMS_FILE: new}, desk="argue")
    named = names.goes_on(new, (*range(at), None, *range(at, count)))
    return {**studio.changed(), "at": at, "name": named[at]}


async def _own(studio: Studio, names: ClaimNames, wanted: Observation) -> Any:
    """Keep an observation as a claim of the analyst's own, marked as such wherever it goes."""
    title = wanted.title.strip()
    if not title:
        raise RefusedError("an observation needs its sentence", mend="write it down")
    row = {
        "title": title,
        "scene": wanted.scene,
        "lines": list(wanted.lines),
        "play": [{"bars": wanted.bars}],
    }

    def put(text: str, named: tuple[str, ...]) -> Changed:
        count = len(named)
        new = with_row_added(text, row, at=count)
        return Changed(new, "observation kept", (*range(count), None))

    await _written(studio)
    return await _change(studio, names, put)


async def _set(studio: Studio, names: ClaimNames, wanted: ClaimField) -> Any:
    def put(text: str, named: tuple[str, ...]) -> Changed:
        at = number_of(named, wanted.claim)
        label = f"{_FIELD_NAMES.get(wanted.field, wanted.field)}, claim {at + 1}"
        now = tomllib.loads(text)["claim"][at].get(wanted.field)
        new = with_claim_field(text, at, wanted.field, _with_theirs(wanted, now))
        return Changed(new, label, tuple(range(len(named))))

    try:
        return await _change(studio, names, put, joins=f"claim {wanted.claim} {wanted.field}")
    except ClashError as clash:
        return {"clash": clash.theirs}


def _with_theirs(wanted: ClaimField, now: Any) -> Any:
    """Give what is wanted, with what was changed elsewhere since it was seen.

    Raises:
        ClashError: if the same was changed.
    """
    seen, value = wanted.seen, wanted.value
    if seen is None or now in (seen, value):
        return value
    if all(isinstance(one, list) for one in (seen, value, now)):
        both = brought_together(seen, value, now)
        if both is not None:
            return both
    raise ClashError(now)


def _move(studio: Studio, names: ClaimNames, wanted: ClaimMove) -> Any:
    def put(text: str, named: tuple[str, ...]) -> Changed:
        at = number_of(named, wanted.claim)
        order = [number for number in range(len(named)) if number != at]
        order.insert(wanted.to, at)
        label = f"claim {at + 1} put at place {wanted.to + 1}"
        return Changed(with_claim_moved(text, at, wanted.to), label, tuple(order))

    return _change(studio, names, put)


def _remove(studio: Studio, names: ClaimNames, wanted: ClaimNamed) -> Any:
    def put(text: str, named: tuple[str, ...]) -> Changed:
        at = number_of(named, wanted.claim)
        order = tuple(number for number in range(len(named)) if number != at)
        return Changed(without_claim(text, at), f"claim {at + 1} taken out", order)

    return _change(studio, names, put)


async def _change(
    studio: Studio,
    names: ClaimNames,
    make: Callable[[str, tuple[str, ...]], Changed],
    *,
    joins: str = "",
) -> Any:
    """Change the claims, unless that would make a mistake in them.

    Args:
        studio: with an open essay.
        names: of its claims.
        make: changes their text, given the name of each; again if they change meanwhile.
        joins: as in `history.Step`.
    """
    while True:
        document = studio.open_document
        text = document.texts.get(CLAIMS_FILE)
        if text is None:
            raise RefusedError("these claims are only proposed", mend="take them first")
        try:
            new, label, order = make(text, names.of(document.folder, text))
        except (IndexError, ValueError) as error:
            raise RefusedError(str(error), mend="look at the claims again") from error
        faults = await worked(studio.desk_worker.do(claims_faults, str(studio.folder), new))
        if faults:
            raise RefusedError(faults[0].what, mend=faults[0].mend)
        if studio.open_document is document and document.texts.get(CLAIMS_FILE) == text:
            break
    names.of(document.folder, text)
    document.change(label, {CLAIMS_FILE: new}, joins=joins, desk="argue")
    names.goes_on(new, order)
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
