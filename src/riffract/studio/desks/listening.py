"""Playing: any stretch, rendered or recorded, slower, looped, with a click."""

from hashlib import sha256
from typing import Any

import msgspec
from starlette.requests import Request
from starlette.responses import PlainTextResponse, Response
from starlette.routing import BaseRoute, Route

from riffract.studio.channel import Action, Actions
from riffract.studio.document import passage_name
from riffract.studio.listening import Listen, listen
from riffract.studio.studio import Studio
from riffract.studio.worker import worked


def actions(studio: Studio) -> Actions:
    """List what can be asked for."""
    return {"sound.make": Action(Listen, lambda wanted: _make(studio, wanted))}


def routes(studio: Studio) -> list[BaseRoute]:
    """List the addresses of sounds."""

    async def sound(request: Request) -> Response:
        heard = studio.shelf.get(request.path_params["name"])
        if heard is None:
            return PlainTextResponse("this sound is not kept any more\n", status_code=404)
        return Response(heard.wav, media_type="audio/wav", headers={"cache-control": "no-store"})

    return [Route("/sound/{name}", sound)]


async def _make(studio: Studio, wanted: Listen) -> dict[str, Any]:
    document = studio.open_document
    name = _name(document.texts, wanted)
    heard = studio.shelf.get(name)
    if heard is None:
        folder = str(studio.folder)
        text = document.texts.get(passage_name(document.texts))
        heard = await worked(studio.sound_worker.do(listen, folder, text, wanted))
        studio.shelf.put(name, heard)
    return {
        "url": f"/sound/{name}",
        "seconds": heard.seconds,
        "loop_from": heard.loop_from,
        "loop_to": heard.loop_to,
        "moments": heard.moments,
    }


def _name(texts: Any, wanted: Listen) -> str:
    told = msgspec.json.encode([sorted(texts.items()), msgspec.structs.asdict(wanted)])
    return sha256(told).hexdigest()[:32]
