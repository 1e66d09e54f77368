"""The Notate desk: the passage written on its picture, and as text beside it."""

import asyncio
from pathlib import Path
from typing import Any, Final

import msgspec
import tomlkit
from starlette.requests import Request
from starlette.responses import JSONResponse, PlainTextResponse, Response
from starlette.routing import BaseRoute, Route

from riffract.essay import draft as edits
from riffract.essay.draft import Cursor, Draft, Edited, Selection, draft_of_pasted, write_draft
from riffract.essay.folder import OWN_TAB, SETTINGS_FILE
from riffract.formats.problem import Problem, Severity
from riffract.formats.reading import ReadChoices, read_bytes
from riffract.formats.tab import UnwritableError, write_tab
from riffract.studio.channel import Action, Actions
from riffract.studio.document import passage_name
from riffract.studio.exact import exact
from riffract.studio.notation.taking_up import begun, with_music
from riffract.studio.notation.text_place import picture_place, text_place
from riffract.studio.notation.verbs import (
    TO_OTHER_STRINGS,
    VERBS,
    At,
    Wanted,
    copied,
    cursor_of,
    done,
    selection_of,
)
from riffract.studio.notation.writing import Writing
from riffract.studio.problems import RefusedError
from riffract.studio.studio import Studio
from riffract.studio.worker import worked

LARGEST_MUSIC_BYTES: Final = 16 * 2**20

WRITTEN_AFTER_SECONDS: Final = 0.03
"""Ours: two frames, so that the page draws its answer with the machine to itself."""


class Seen(msgspec.Struct, frozen=True, kw_only=True):
    """What a page has already.

    Attributes:
        look: whose colours it shows.
        has: the number of the sheet that it shows; 0 for none.
    """

    look: str = "dark"
    has: int = 0


class Do(msgspec.Struct, frozen=True, kw_only=True):
    """Something to be done, and what the page has already."""

    wanted: Wanted
    seen: Seen = Seen()


class Pasted(msgspec.Struct, frozen=True, kw_only=True):
    """A tab without time, as mails have it."""

    text: str


class Where(msgspec.Struct, frozen=True, kw_only=True):
    """A place of the passage that is looked for in its text."""

    at: At


class There(msgspec.Struct, frozen=True, kw_only=True):
    """A place of the text, from 1, that is looked for in the passage."""

    line: int
    column: int


def actions(studio: Studio) -> Actions:
    """List what can be asked for."""
    writing = Writing()
    studio.before_reading.append(lambda: _write_down(studio, writing))
    return {
        "notate.look": Action(Seen, lambda seen: _look(studio, writing, seen)),
        "notate.do": Action(Do, lambda asked: _do(studio, writing, asked)),
        "notate.copy": Action(Do, lambda asked: _copy(studio, writing, asked)),
        "notate.paste": Action(Do, lambda asked: _paste(studio, writing, asked)),
        "notate.where": Action(Where, lambda where: _where(studio, where)),
        "notate.there": Action(There, lambda there: _there(studio, there)),
        "notate.pasted": Action(Pasted, lambda pasted: _pasted(studio, writing, pasted)),
    }


def routes(studio: Studio) -> list[BaseRoute]:
    """List the address that takes music in from files."""

    async def bring(request: Request) -> Response:
        data = b""
        async for piece in request.stream():
            data += piece
            if len(data) > LARGEST_MUSIC_BYTES:
                return PlainTextResponse("no passage needs so large a file\n", status_code=413)
        choices = ReadChoices(part=request.query_params.get("part"))
        name = Path(request.path_params["name"]).name
        read = await asyncio.to_thread(read_bytes, data, source=name, choices=choices)
        if read.passage is None and read.parts and choices.part is None:
            return JSONResponse({"parts": list(read.parts)})
        try:
            if read.passage is None:
                raise _refusal(read.problems)
            text = write_tab(read.passage)
        except RefusedError as error:
            return JSONResponse({"problem": _told(error.problem)})
        except UnwritableError as error:
            return JSONResponse({"problem": _told(error.problems[0])})
        _write_music(studio, text, f"{name} brought in")
        warnings = [p.what for p in read.problems]
        return JSONResponse({"parts": list(read.parts), "warnings": warnings})

    return [Route("/notate/bring/{name}", bring, methods=["PUT"])]


def _look(studio: Studio, writing: Writing, seen: Seen) -> dict[str, Any]:
    _follow(studio, writing)
    return _answer(writing, seen)


def _do(studio: Studio, writing: Writing, asked: Do) -> dict[str, Any]:
    draft = _draft(studio, writing)
    wanted = asked.wanted
    edited = done(draft, wanted)
    joins = f"fret {wanted.at}" if wanted.verb == "fret" else ""
    return _taken(studio, writing, edited, asked, joins=joins)


def _copy(studio: Studio, writing: Writing, asked: Do) -> dict[str, Any]:
    draft = _draft(studio, writing)
    if asked.wanted.verb == "cut":
        edited, clip = edits.cut(draft, selection_of(draft, asked.wanted))
        answer = _taken(studio, writing, edited, asked)
        writing.clip = clip
        return answer
    writing.clip = copied(draft, asked.wanted)
    count = len(writing.clip.notes)
    return {"said": f"{count} notes copied" if count > 1 else "copied"}


def _paste(studio: Studio, writing: Writing, asked: Do) -> dict[str, Any]:
    if writing.clip is None:
        raise RefusedError("nothing was copied yet", mend="select notes and copy them first")
    draft = _draft(studio, writing)
    wanted = asked.wanted
    if wanted.verb == "paste bars":
        edited = edits.paste_bars(draft, wanted.at.bar + int(wanted.number), writing.clip)
    else:
        edited = edits.paste(draft, cursor_of(wanted), writing.clip)
    return _taken(studio, writing, edited, asked)


def _pasted(studio: Studio, writing: Writing, pasted: Pasted) -> dict[str, Any]:
    """Take a tab from the clipboard for the passage; undo gives the earlier one back."""
    timed = edits.read_draft(pasted.text)
    read = timed if timed.draft is not None else draft_of_pasted(pasted.text)
    if read.draft is None:
        raise _refusal(read.problems)
    _write_down(studio, writing)
    _write_music(studio, write_draft(read.draft), "tab pasted")
    return {"said": "The tab is taken in; its time is proposed and wants your ear."}


async def _where(studio: Studio, where: Where) -> Any:
    """Say where a place stands in the text, once that is up to what was done on the picture."""
    at = where.at
    finding = studio.desk_worker.do(text_place, _text(studio), at.bar, exact(at.offset), at.string)
    return msgspec.to_builtins(await worked(finding))


async def _there(studio: Studio, there: There) -> Any:
    """Say which place of the passage a place of the text is."""
    finding = studio.desk_worker.do(picture_place, _text(studio), there.line, there.column)
    return msgspec.to_builtins(await worked(finding))


def _text(studio: Studio) -> str:
    texts = studio.open_document.texts
    return texts.get(passage_name(texts) or "", "")


def _taken(
    studio: Studio, writing: Writing, edited: Edited, asked: Do, *, joins: str = ""
) -> dict[str, Any]:
    """Go on with what an edit gave, and write it down once the page has drawn its answer."""
    if edited.refusal is not None:
        raise RefusedError.of(edited.refusal)
    can_be_taken_up = asked.wanted.verb in VERBS and not writing.is_behind
    if can_be_taken_up and studio.document is not None:
        journal = studio.document.journal
        journal.begin(begun(writing.text, asked.wanted))
        asyncio.get_running_loop().run_in_executor(None, journal.sync)
    writing.take(edited.draft, edited.said, joins)
    if can_be_taken_up:
        loop = asyncio.get_running_loop()
        loop.call_later(WRITTEN_AFTER_SECONDS, _write_down, studio, writing)
    else:
        _write_down(studio, writing)
    return {
        **_answer(writing, asked.seen),
        "said": edited.said,
        "cursor": None if edited.cursor is None else _cursor(edited.cursor, asked.wanted),
        "selection": None if edited.selection is None else _selection(edited.selection),
    }


def _answer(writing: Writing, seen: Seen) -> dict[str, Any]:
    problems = [
        {**_told(p), "line": p.line, "column": p.column, "severity": str(p.severity)}
        for p in writing.problems
    ]
    if writing.draft is None:
        return {"sheet": None, "problems": problems, "is_broken": True}
    return {
        "sheet": writing.sheets.to_send(writing.draft, seen.look, seen.has),
        "problems": problems,
        "is_broken": writing.is_broken,
    }


def _draft(studio: Studio, writing: Writing) -> Draft:
    """Give the draft to be edited.

    Raises:
        RefusedError: if the text cannot be read as it stands.
    """
    if not writing.is_behind:
        _follow(studio, writing)
    if writing.draft is None or writing.is_broken:
        problem = next((p for p in writing.problems if p.severity is Severity.ERROR), None)
        where = "" if problem is None else f" (line {problem.line}: {problem.what})"
        raise RefusedError(
            f"the text cannot be read as it stands{where}", mend="mend it in the text view"
        )
    return writing.draft


def _follow(studio: Studio, writing: Writing) -> None:
    document = studio.open_document
    writing.belong_to(document.folder)
    name = passage_name(document.texts)
    if name and name in document.texts:
        writing.follow(document.texts[name])
        return
    # Music in another format is shown as the tab that it would be.
    settings = tomlkit.parse(document.texts.get(SETTINGS_FILE, ""))
    path = document.folder / str(settings.get("passage", OWN_TAB))
    read = read_bytes(path.read_bytes() if path.is_file() else b"", source=path.name)
    if read.passage is None:
        writing.draft, writing.problems, writing.is_broken = None, read.problems, True
        return
    writing.follow(write_tab(read.passage))


def _write_down(studio: Studio, writing: Writing) -> None:
    """Bring the text up to what was done on the picture, and tell all pages."""
    document = studio.document
    if not writing.is_behind or document is None:
        return
    for taken, text in writing.written():
        texts = with_music(document.texts, text)
        document.change(taken.label, texts, joins=taken.joins, desk="notate")
    studio.changed()


def _write_music(studio: Studio, text: str, label: str) -> None:
    """Write the passage's tab; if the essay names music of another kind, it names the tab now."""
    document = studio.document
    if document is not None:
        document.change(label, with_music(document.texts, text), desk="notate")
        studio.changed()


def _refusal(problems: Any) -> RefusedError:
    problem = next((p for p in problems if p.severity is Severity.ERROR), None)
    if problem is None:
        return RefusedError("there is no music in it", mend="choose another file")
    line = f"line {problem.line}" if problem.line else ""
    return RefusedError(problem.what, mend=problem.mend, place=problem.place or line)


def _told(problem: Problem) -> dict[str, Any]:
    return {"what": problem.what, "mend": problem.mend, "place": problem.place}


def _cursor(cursor: Cursor, wanted: Wanted) -> dict[str, Any]:
    """Tell where one goes on: on the same string, unless notes went to others."""
    string = cursor.string if wanted.verb in TO_OTHER_STRINGS else wanted.at.string
    return {"bar": cursor.bar, "offset": str(cursor.offset_quarters), "string": string}


def _selection(selection: Selection) -> dict[str, Any]:
    span = selection.span
    return {
        "start": str(span.start_quarters),
        "end": str(span.end_quarters),
        "strings": sorted(selection.strings),
    }
