"""Who may talk to the app: this machine's own browser, from the app's own pages, with its key.

A page of another site that is open in the same browser can send requests to this machine, by its
number, by `localhost`, or by a name of its own that it lets point here. So every request must name
this server as its host; one that carries an origin must carry ours; and all but the entrance needs
the cookie that the one-time key was exchanged for.

Source: OWASP Cheat Sheets on cross-site request forgery and on content security policy; Fetch
Metadata Request Headers (W3C working draft).
"""

import hmac
import secrets
from dataclasses import dataclass, field
from http.cookies import CookieError, SimpleCookie
from typing import Final
from urllib.parse import parse_qs

from starlette.responses import PlainTextResponse, RedirectResponse
from starlette.types import ASGIApp, Message, Receive, Scope, Send

ENTRANCE: Final = "/enter"
ALIVE: Final = "/alive"
COOKIE: Final = "riffract"

_POLICY: Final = (
    "default-src 'none'",
    "script-src 'self'",
    "style-src 'self'",
    "img-src 'self' blob: data:",
    "media-src 'self' blob:",
    "font-src 'self'",
    "worker-src 'self'",
    "base-uri 'none'",
    "form-action 'none'",
    "frame-ancestors 'none'",
)
_HEADERS: Final = (
    (b"x-content-type-options", b"nosniff"),
    (b"referrer-policy", b"no-referrer"),
    (b"cross-origin-opener-policy", b"same-origin"),
    (b"cross-origin-resource-policy", b"same-origin"),
    (b"permissions-policy", b"camera=(), geolocation=(), microphone=(self), midi=()"),
)


@dataclass(slots=True)
class Keys:
    """The one-time keys that were handed out, and the secret that each is exchanged for."""

    waiting: set[str] = field(default_factory=set)
    session: str = field(default_factory=lambda: secrets.token_urlsafe(32))

    def one_time(self) -> str:
        """Hand out a new key that opens the app once."""
        key = secrets.token_urlsafe(32)
        self.waiting.add(key)
        return key

    def exchanged(self, key: str) -> bool:
        """Use a key up; say whether it was one of ours."""
        match = next((k for k in self.waiting if hmac.compare_digest(k, key)), None)
        if match is None:
            return False
        self.waiting.discard(match)
        return True

    def opens(self, secret: str) -> bool:
        """Say whether a cookie's secret is ours."""
        return hmac.compare_digest(secret.encode(), self.session.encode())


@dataclass(slots=True)
class Guard:
    """Lets through what comes from the app's own pages, and adds the safety headers.

    Attributes:
        app: what is guarded.
        keys: who may enter.
        hosts: the names under which this server may be asked: `127.0.0.1:PORT` and its like.
    """

    app: ASGIApp
    keys: Keys
    hosts: frozenset[str]

    async def __call__(self, scope: Scope, receive: Receive, send: Send) -> None:
        """Answer, pass on or refuse one request."""
        if scope["type"] not in {"http", "websocket"}:
            await self.app(scope, receive, send)
            return
        headers = {k.decode("latin-1").lower(): v.decode("latin-1") for k, v in scope["headers"]}
        refusal = self._refusal(scope, headers)
        if refusal is None and scope["type"] == "http" and scope["path"] == ENTRANCE:
            await self._enter(scope, receive, self._with_headers(send))
        elif refusal is None:
            await self.app(scope, receive, self._with_headers(send) if _is_http(scope) else send)
        elif _is_http(scope):
            answer = PlainTextResponse(f"{refusal}\n", status_code=403)
            await answer(scope, receive, self._with_headers(send))
        else:
            await receive()
            await send({"type": "websocket.close", "code": 4403, "reason": refusal[:120]})

    def _refusal(self, scope: Scope, headers: dict[str, str]) -> str | None:
        """Say why a request is refused; `None` if it is let through."""
        host = headers.get("host", "")
        if host not in self.hosts:
            return "This server only answers to its own address on this machine."
        origin = headers.get("origin")
        is_ours = origin in {f"http://{h}" for h in self.hosts}
        if origin is not None and not (is_ours and origin == f"http://{host}"):
            return "This request comes from another site."
        if scope["type"] == "websocket" and origin is None:
            return "This request does not say which page it comes from."
        if headers.get("sec-fetch-site", "none") not in {"same-origin", "none"}:
            return "This request comes from another site."
        if scope["path"] in {ENTRANCE, ALIVE}:
            return None
        if not self.keys.opens(_cookie(headers.get("cookie", ""))):
            return "Open the app with the address that `riffract open` has printed."
        return None

    async def _enter(self, scope: Scope, receive: Receive, send: Send) -> None:
        key = parse_qs(scope["query_string"].decode("latin-1")).get("key", [""])[0]
        if not self.keys.exchanged(key):
            text = "This key has been used already. Run `riffract open` for a new one.\n"
            await PlainTextResponse(text, status_code=403)(scope, receive, send)
            return
        answer = RedirectResponse("/", status_code=303)
        answer.set_cookie(
            COOKIE, self.keys.session, httponly=True, samesite="strict", path="/", secure=False
        )
        await answer(scope, receive, send)

    def _with_headers(self, send: Send) -> Send:
        # Not every browser takes 'self' to mean sockets too.
        sockets = " ".join(sorted(f"ws://{host}" for host in self.hosts))
        policy = "; ".join((*_POLICY, f"connect-src 'self' {sockets}")).encode()
        own = ((b"content-security-policy", policy), *_HEADERS)

        async def with_headers(message: Message) -> None:
            if message["type"] == "http.response.start":
                message = {**message, "headers": [*message.get("headers", []), *own]}
            await send(message)

        return with_headers


def own_hosts(port: int) -> frozenset[str]:
    """Name this server as a browser on this machine may name it."""
    return frozenset({f"127.0.0.1:{port}", f"localhost:{port}"})


def _is_http(scope: Scope) -> bool:
    return bool(scope["type"] == "http")


def _cookie(header: str) -> str:
    try:
        morsel = SimpleCookie(header).get(COOKIE)
    except CookieError:
        return ""
    return "" if morsel is None else morsel.value
