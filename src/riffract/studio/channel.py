"""The wire between the app and its pages: one socket a page, messages as JSON.

A page asks `{"id": 7, "do": "undo", "with": {…}}` and is answered `{"id": 7, "answer": …}` or
`{"id": 7, "problem": {"what", "mend", "place"}}`. Whatever happens is told to all pages as
`{"event": "document", …}`, so that two of them stay in step.
"""

import asyncio
import logging
from collections.abc import Awaitable, Callable, Mapping
from dataclasses import dataclass, field
from fractions import Fraction
from inspect import isawaitable
from typing import Any, Final, TypeAlias

import msgspec
from starlette.websockets import WebSocket, WebSocketDisconnect

from riffract.essay.disk import refusal
from riffract.formats.problem import Problem
from riffract.studio.exact import exact
from riffract.studio.problems import LeftError, RefusedError

LARGEST_MESSAGE_BYTES: Final = 20 * 2**20

_LOG: Final = logging.getLogger(__name__)


class Asked(msgspec.Struct, frozen=True, kw_only=True, rename={"arguments": "with"}):
    """What a page asks for."""

    id: int
    do: str
    arguments: msgspec.Raw = msgspec.Raw(b"{}")


class Nothing(msgspec.Struct, frozen=True):
    """No arguments."""


@dataclass(frozen=True, slots=True)
class Action:
    """Something that a page can ask for.

    Attributes:
        wants: what its arguments are; they are checked before it is called.
        act: does it; gives what is answered.
    """

    wants: type[msgspec.Struct]
    act: Callable[[Any], Awaitable[Any] | Any]


Actions: TypeAlias = Mapping[str, Action]
"""By name, `desk.verb` in small letters."""


@dataclass(slots=True)
class Channel:
    """All pages that are open."""

    actions: dict[str, Action] = field(default_factory=dict)
    pages: set[WebSocket] = field(default_factory=set)

    def learn(self, actions: Actions) -> None:
        """Take up further actions.

        Raises:
            ValueError: if there is one of that name.
        """
        for name, action in actions.items():
            if name in self.actions:
                raise ValueError(f"there are two actions {name}")
            self.actions[name] = action

    async def serve(self, page: WebSocket) -> None:
        """Answer one page until it goes; what takes long does not hold up what comes after it."""
        await page.accept()
        self.pages.add(page)
        waiting: set[asyncio.Task[None]] = set()
        try:
            while True:
                answer = self.answered(await _received(page))
                if isinstance(answer, str):
                    await page.send_text(answer)
                else:
                    task = asyncio.create_task(self._send_later(page, answer))
                    waiting.add(task)
                    task.add_done_callback(waiting.discard)
        except (WebSocketDisconnect, RuntimeError):
            pass
        finally:
            self.pages.discard(page)

    def answered(self, message: str | bytes) -> str | Awaitable[str]:
        """Do what a message asks for; give the answer's text, at once unless it takes its time."""
        try:
            asked = msgspec.json.decode(message, type=Asked)
        except (msgspec.DecodeError, RecursionError) as error:
            return _text({"id": None, "problem": {"what": f"not understood: {error}", "mend": ""}})
        action = self.actions.get(asked.do)
        if action is None:
            return _refused(asked, Problem(what=f"there is no {asked.do}", mend="reload the page"))
        try:
            wanted = msgspec.json.decode(asked.arguments, type=action.wants, dec_hook=_exact)
            answer = action.act(wanted)
        except (msgspec.DecodeError, RecursionError) as error:
            return _refused(asked, Problem(what=f"{asked.do} cannot be asked: {error}", mend=""))
        except RefusedError as error:
            return _refused(asked, error.problem)
        except Exception as error:  # a fault must not cut the page off from all that works
            return _faulty(asked, error)
        return _awaited(asked, answer) if isawaitable(answer) else _answer(asked, answer)

    async def _send_later(self, page: WebSocket, answer: Awaitable[str]) -> None:
        text = await answer
        if page in self.pages:
            await page.send_text(text)

    async def tell(self, event: str, **facts: Any) -> None:
        """Tell all pages what happened."""
        text = _text({"event": event, **facts})
        for page in list(self.pages):
            try:
                await page.send_text(text)
            except (WebSocketDisconnect, RuntimeError):
                self.pages.discard(page)


async def _received(page: WebSocket) -> str | bytes:
    """Wait for a message, be it text or, from something that is no page of ours, bytes."""
    message = await page.receive()
    if message["type"] == "websocket.disconnect":
        raise WebSocketDisconnect(message.get("code", 1000))
    text: str | bytes = message.get("text") or message.get("bytes") or b""
    return text


async def _awaited(asked: Asked, answer: Awaitable[Any]) -> str:
    try:
        return _answer(asked, await answer)
    except RefusedError as error:
        return _refused(asked, error.problem, is_left=isinstance(error, LeftError))
    except Exception as error:
        return _faulty(asked, error)


def _faulty(asked: Asked, error: Exception) -> str:
    """Say that the disk refuses; any other fault is ours, its trace goes to the terminal."""
    if isinstance(error, OSError) and refusal(error) is not None:
        return _refused(
            asked,
            Problem(
                what=f"this could not be kept on the disk: {error.strerror}",
                mend="make room, or let the essay's folder be written to; then do it once more",
            ),
        )
    _LOG.exception("%s went wrong: this is a fault in Riffract", asked.do)
    return _refused(
        asked,
        Problem(
            what=f"{asked.do} went wrong, by a fault in Riffract",
            mend="what you wrote is kept; please report this with the trace in the terminal",
        ),
    )


def _answer(asked: Asked, answer: Any) -> str:
    return _text({"id": asked.id, "answer": answer})


def _refused(asked: Asked, problem: Problem, *, is_left: bool = False) -> str:
    told = {"what": problem.what, "mend": problem.mend, "place": problem.place, "isLeft": is_left}
    return _text({"id": asked.id, "problem": told})


def _text(value: Any) -> str:
    return msgspec.json.encode(value, enc_hook=_plain).decode()


def _plain(value: Any) -> Any:
    if isinstance(value, Fraction):
        return str(value)
    if hasattr(value, "tolist"):
        return value.tolist()
    raise NotImplementedError(f"no plain form for {type(value)}")


def _exact(kind: type, value: Any) -> Any:
    if kind is not Fraction:
        raise NotImplementedError(f"{kind} cannot be read")
    return exact(value if isinstance(value, str) else "")
