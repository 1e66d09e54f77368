"""Requests as a hostile page, program or typo would send them.

The refusals follow OWASP's cheat sheets on cross-site request forgery and DNS rebinding.
"""

import http.client
import json
import subprocess
import sys
from collections.abc import Iterator
from contextlib import ExitStack
from pathlib import Path
from urllib.parse import urlsplit

import pytest
from tests.patience import PATIENCE_MS
from tests.studio.opened import Opened, demo_essay, opened
from websockets.exceptions import InvalidStatus
from websockets.sync.client import ClientConnection, connect
from websockets.typing import Origin


@pytest.fixture(scope="module")
def running(tmp_path_factory: pytest.TempPathFactory) -> Iterator[Opened]:
    place = tmp_path_factory.mktemp("safety")
    with opened(demo_essay(place / "tide"), place / "state") as app:
        yield app


@pytest.fixture(scope="module")
def cookie(running: Opened) -> str:
    answer = asked(running, running.address.removeprefix(running.root))
    assert answer.status == 303
    set_cookie = answer.getheader("set-cookie") or ""
    assert "HttpOnly" in set_cookie
    assert "SameSite=strict" in set_cookie
    return set_cookie.partition(";")[0]


def asked(app: Opened, path: str, **headers: str) -> http.client.HTTPResponse:
    connection = http.client.HTTPConnection(urlsplit(app.root).netloc, timeout=10)
    connection.request("GET", path, headers={k.replace("_", "-"): v for k, v in headers.items()})
    answer = connection.getresponse()
    answer.read()
    connection.close()
    return answer


def wired(address: str, origin: str | None, headers: dict[str, str]) -> ClientConnection:
    named = None if origin is None else Origin(origin)
    return connect(address, origin=named, additional_headers=headers, legacy=None)


def test_nothing_is_shown_without_the_cookie(running: Opened, cookie: str):
    for path in ("/", "/pages/main.js", "/sound/x"):
        assert asked(running, path).status == 403
        assert asked(running, path, cookie="riffract=guessed").status == 403
    assert asked(running, "/", cookie=cookie).status == 200


def test_a_key_opens_once_and_a_wrong_one_never(running: Opened, cookie: str):
    assert asked(running, running.address.removeprefix(running.root)).status == 403
    assert asked(running, "/enter?key=").status == 403
    assert asked(running, "/enter").status == 403


@pytest.mark.parametrize("host", ["evil.example", "evil.example:80", "0.0.0.0", "127.0.0.1"])
def test_a_name_that_was_bent_to_this_machine_is_refused(running: Opened, cookie: str, host: str):
    assert asked(running, "/", cookie=cookie, host=host).status == 403


def test_another_site_is_refused_even_with_the_cookie(running: Opened, cookie: str):
    assert asked(running, "/", cookie=cookie, origin="https://evil.example").status == 403
    assert asked(running, "/", cookie=cookie, origin="null").status == 403
    assert asked(running, "/", cookie=cookie, sec_fetch_site="cross-site").status == 403


def test_pages_may_not_be_framed_nor_load_anything_from_elsewhere(running: Opened, cookie: str):
    policy = asked(running, "/", cookie=cookie).getheader("content-security-policy") or ""
    assert "default-src 'none'" in policy
    assert "frame-ancestors 'none'" in policy
    assert "unsafe" not in policy


@pytest.mark.parametrize(
    "path",
    ["/pages/../server.py", "/pages/%2e%2e/server.py", "/pages//etc/passwd", "/fonts/..%2f..%2fx"],
)
def test_no_path_leads_out_of_the_pages(running: Opened, cookie: str, path: str):
    assert asked(running, path, cookie=cookie).status in {404, 405}


def test_the_channel_needs_cookie_and_origin(running: Opened, cookie: str):
    address = running.root.replace("http", "ws") + "/channel"
    for origin, sent in (
        (None, cookie),
        ("https://evil.example", cookie),
        (running.root, "riffract=guessed"),
    ):
        with pytest.raises(InvalidStatus) as refused:
            wired(address, origin, {"cookie": sent})
        assert refused.value.response.status_code == 403


@pytest.mark.parametrize(
    "message",
    ["", "{", "[]", '{"id": 1}', '{"id": 1, "do": "no.such"}', '{"id": 1, "do": "text.set"}'],
)
def test_what_is_not_understood_is_answered_and_does_no_harm(
    running: Opened, cookie: str, message: str
):
    address = running.root.replace("http", "ws") + "/channel"
    headers = {"cookie": cookie}
    with wired(address, running.root, headers) as wire:
        wire.send(message)
        assert json.loads(wire.recv(60))["problem"]["what"]
        wire.send('{"id": 2, "do": "hello"}')
        assert json.loads(wire.recv(60))["answer"]["folder"].endswith("tide")


def test_bytes_are_read_as_text_and_many_pages_are_answered(running: Opened, cookie: str):
    address = running.root.replace("http", "ws") + "/channel"
    with ExitStack() as open_wires:
        wires = [
            open_wires.enter_context(wired(address, running.root, {"cookie": cookie}))
            for _ in range(100)
        ]
        for wire in wires:
            wire.send(b'{"id": 2, "do": "hello"}')
        for wire in wires:
            assert json.loads(wire.recv(60))["answer"]["folder"].endswith("tide")


def test_no_file_but_the_essays_own_texts_can_be_written(running: Opened, cookie: str):
    address = running.root.replace("http", "ws") + "/channel"
    headers = {"cookie": cookie}
    with wired(address, running.root, headers) as wire:
        for file in ("../outside.txt", "/etc/x", "out/film.mp4", "nothing.toml"):
            wanted = {"file": file, "text": "x", "revision": 0}
            wire.send(json.dumps({"id": 1, "do": "text.set", "with": wanted}))
            assert "no file" in json.loads(wire.recv(60))["problem"]["what"]


def test_a_second_app_on_the_same_essay_is_refused(running: Opened):
    assert running.folder is not None
    command = [sys.executable, "-m", "riffract", "open", "--no-browser", str(running.folder)]
    second = subprocess.run(command, capture_output=True, text=True, check=False, timeout=30)
    assert second.returncode == 1
    assert "is open in another window" in second.stdout + second.stderr


def test_who_still_waits_when_the_app_ends_is_told_so(tmp_path: Path):
    with opened(demo_essay(tmp_path / "tide"), tmp_path / "state") as app:
        entered = asked(app, app.address.removeprefix(app.root))
        cookie = (entered.getheader("set-cookie") or "").partition(";")[0]
        upload = http.client.HTTPConnection(urlsplit(app.root).netloc, timeout=10)
        upload.putrequest("PUT", "/recording/new/slow.wav")
        upload.putheader("cookie", cookie)
        upload.putheader("content-length", "1000")
        upload.endheaders(b"RIFF")
        asked(app, "/", cookie=cookie)  # by now the upload has begun
        app.process.terminate()
        answer = upload.getresponse()
        assert (answer.status, answer.read()) == (503, b"the app is closing\n")
        upload.close()
        app.process.wait(60)
        assert app.process.stdout is not None
        assert "Cancel" not in app.process.stdout.read()
    assert not list((tmp_path / "tide").glob("slow*"))


def test_what_cannot_be_done_without_an_essay_is_refused_at_every_address(tmp_path: Path):
    with opened(None, tmp_path / "state") as app:
        entered = asked(app, app.address.removeprefix(app.root))
        cookie = (entered.getheader("set-cookie") or "").partition(";")[0]
        for path in (
            "/show/frame?at=0&width=320",
            "/show/sound",
            "/study/picture/x",
            "/study/findings.csv",
            "/made/film.mp4",
            "/takes/x.webm",
        ):
            assert asked(app, path, cookie=cookie).status == 409, path


def test_what_is_said_to_be_too_large_is_refused_before_it_comes(running: Opened, cookie: str):
    connection = http.client.HTTPConnection(
        urlsplit(running.root).netloc, timeout=PATIENCE_MS / 1e3
    )
    connection.putrequest("PUT", "/takes/new/Tide/webm")
    for name, text in {"Cookie": cookie, "Origin": running.root}.items():
        connection.putheader(name, text)
    connection.putheader("Content-Length", str(10**12))
    connection.endheaders()
    answer = connection.getresponse()
    assert answer.status == 415
    assert "larger than 4 GB" in json.loads(answer.read())["what"]
    connection.close()
