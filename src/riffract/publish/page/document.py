"""The web page: one file with all in it, that asks nothing of the network.

Its policy lets in the one script and the one style that are part of it, by their sums (W3C, Content
Security Policy Level 3, 8.3), and sound that is part of it; nothing else.
"""

from base64 import b64encode
from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from hashlib import sha256
from html import escape
from importlib.resources import files
from typing import Final

import msgspec

from riffract.analysis.saying import say
from riffract.essay.shot_list import SAFE_LISTENING
from riffract.essay.shots import Shot
from riffract.picture.look import DARK, PAPER, Look
from riffract.picture.marks import Role
from riffract.publish.about import About
from riffract.publish.page.evidence_list import evidence_html
from riffract.publish.page.moving_picture import MovingPicture
from riffract.publish.wording import clock_text, place_text, play_text
from riffract.weighing.study import Study

_HERE: Final = files("riffract.publish.page")


@dataclass(frozen=True, slots=True, kw_only=True)
class ClaimOnPage:
    """One claim as the page shows it.

    Attributes:
        shot: its words, and what is played.
        picture: its picture, in pieces.
        sound: an address that holds the sound; `None` if nothing sounds.
    """

    shot: Shot
    picture: MovingPicture
    sound: str | None


def page_html(
    claims: Sequence[ClaimOnPage],
    study: Study,
    *,
    about: About,
    tab_text: str,
    look: Look,
    definitions: str,
    language_code: str,
) -> str:
    """Write the page.

    Args:
        claims: in order.
        study: that their findings are from.
        about: title, credits and rights.
        tab_text: the passage as plain-text tab.
        look: of the pictures on a screen; in print they are on paper.
        definitions: what the pieces of the pictures refer to.
        language_code: of all words, as BCP 47 has it.
    """
    style, script = _style(look), _HERE.joinpath("page.js").read_text("utf-8")
    return "\n".join(
        [
            "<!DOCTYPE html>",
            f'<html lang="{escape(language_code)}">',
            "<head>",
            '<meta charset="utf-8">',
            f'<meta http-equiv="Content-Security-Policy" content="{_policy(style, script)}">',
            '<meta name="viewport" content="width=device-width, initial-scale=1">',
            '<meta name="color-scheme" content="light dark">',
            f"<title>{escape(about.title)}</title>",
            f"<style>{style}</style>",
            "</head>",
            "<body>",
            f'<svg class="definitions" width="0" height="0" aria-hidden="true">{definitions}</svg>',
            *_head(about, claims),
            "<main>",
            *(line for claim in claims for line in _claim(claim, study)),
            *_passage(tab_text),
            "</main>",
            *_foot(about),
            _data(claims, study),
            f"<script>{script}</script>",
            "</body>",
            "</html>\n",
        ]
    )


def _policy(style: str, script: str) -> str:
    rules = (
        "default-src 'none'",
        f"script-src {_sum(script)}",
        f"style-src {_sum(style)}",
        "media-src data:",
        "base-uri 'none'",
        "form-action 'none'",
    )
    return "; ".join(rules)


def _sum(text: str) -> str:
    return f"'sha256-{b64encode(sha256(text.encode()).digest()).decode('ascii')}'"


def variable_look(look: Look) -> Look:
    """Give a look whose colours are variables of the page's style: the print has its own values."""
    return Look(
        name=look.name,
        hexes={role: f"var(--picture-{role})" for role in Role},
        thinned=look.thinned,
    )


def _style(look: Look) -> str:
    print_too = f"@media print{{:root{{{_colours('picture', PAPER)}{_colours('page', PAPER)}}}}}"
    light = f":root{{{_colours('picture', look)}{_colours('page', PAPER)}}}"
    dark = f"@media (prefers-color-scheme: dark){{:root{{{_colours('page', DARK)}}}}}"
    return "\n".join([light, dark, print_too, _HERE.joinpath("page.css").read_text("utf-8")])


def _colours(of: str, look: Look) -> str:
    return "".join(f"--{of}-{role}:{value};" for role, value in look.hexes.items())


def _head(about: About, claims: Sequence[ClaimOnPage]) -> Iterator[str]:
    yield "<header>"
    yield f"<h1>{escape(about.title)}</h1>"
    if about.subtitle:
        yield f"<p>{escape(about.subtitle)}</p>"
    yield f'<nav aria-label="{escape(say("Claims"))}"><ol>'
    for claim in claims:
        yield f'<li><a href="#{_name(claim)}">{escape(claim.shot.title)}</a></li>'
    yield f'</ol><p><a href="#passage">{escape(say("The passage"))}</a></p></nav>'
    yield (
        f'<p class="choice" hidden><label><input type="checkbox" id="moves"> '
        f"{escape(say('Pictures move while they are heard'))}</label></p>"
    )
    yield "</header>"


def _claim(claim: ClaimOnPage, study: Study) -> Iterator[str]:
    shot, name = claim.shot, _name(claim)
    yield f'<article id="{name}" aria-labelledby="{name}-title">'
    yield f'<h2 id="{name}-title">{escape(shot.title)}</h2>'
    yield from _picture(claim)
    if claim.sound is not None:
        yield from _player(claim, claim.sound, study)
    if shot.lines:
        yield '<ol class="lines">'
        for line in shot.lines:
            yield (
                f'<li data-from="{line.start_seconds:g}" data-to="{line.end_seconds:g}">'
                f"{escape(line.text)}</li>"
            )
        yield "</ol>"
    yield from _description(claim)
    yield from evidence_html(shot, study)
    yield "</article>"


def _picture(claim: ClaimOnPage) -> Iterator[str]:
    picture, name = claim.picture, _name(claim)
    page = picture.page
    yield f'<div class="picture" tabindex="0" role="group" aria-label="{escape(say("Picture"))}">'
    yield (
        f'<svg viewBox="0 0 {page.width} {page.height}" role="img" '
        f'aria-labelledby="{name}-title" aria-describedby="{name}-seen">'
    )
    if picture.rest is not None:
        yield f'<g class="rest">{picture.rest}</g>'
    hidden = "" if picture.rest is None else ' display="none"'
    yield f'<g class="played"{hidden}><g>{picture.ground}</g>'
    for rising in picture.rising:
        yield (
            f'<g class="rising" data-at="{rising.at_seconds:g}" '
            f'data-fade="{rising.fade_seconds:g}">{rising.elements}</g>'
        )
    yield f'<g class="moving">{picture.last}</g></g></svg></div>'


def _description(claim: ClaimOnPage) -> Iterator[str]:
    yield f"<details><summary>{escape(say('What the picture shows'))}</summary>"
    yield f'<p id="{_name(claim)}-seen">{escape(claim.picture.description)}</p></details>'


def _player(claim: ClaimOnPage, sound: str, study: Study) -> Iterator[str]:
    shot = claim.shot
    heard = "; ".join(play_text(study.passage, play) for play in shot.plays)
    label, play = escape(shot.title), escape(say("Play"))
    yield f'<p class="heard">{play}: {escape(heard)}</p>' if heard else ""
    yield f'<audio controls preload="metadata" aria-label="{label}" src="{sound}"></audio>'
    yield (
        f'<div class="player" role="group" aria-label="{label}" hidden>'
        f'<button type="button" data-play="{play}" data-pause="{escape(say("Pause"))}">'
        f"{play}</button>"
        f'<input type="range" min="0" max="{shot.length_seconds:g}" step="0.1" value="0" '
        f'aria-label="{escape(say("Place in the music"))}">'
        f'<span class="clock">{clock_text(0.0)} / {clock_text(shot.length_seconds)}</span></div>'
    )


def _passage(tab_text: str) -> Iterator[str]:
    yield '<section id="passage" aria-labelledby="passage-title">'
    yield f'<h2 id="passage-title">{escape(say("The passage"))}</h2>'
    label = escape(say("The passage"))
    yield f'<pre tabindex="0" role="group" aria-label="{label}">{escape(tab_text)}</pre>'
    yield "</section>"


def _foot(about: About) -> Iterator[str]:
    lines = [line for line in (*about.credits, about.rights) if line]
    yield "<footer>"
    yield from (f"<p>{escape(line)}</p>" for line in lines)
    yield f"<p>{escape(say(SAFE_LISTENING))}</p>"
    yield "</footer>"


def _data(claims: Sequence[ClaimOnPage], study: Study) -> str:
    """Write what the script reads; no browser runs it, and nothing in it can end the element."""
    content = {
        _name(claim): {**claim.picture.as_json(), "places": list(_places(claim.shot, study))}
        for claim in claims
    }
    text = msgspec.json.encode(content).decode().replace("</", "<\\/").replace("<!", "\\u003c!")
    return f'<script type="application/json" id="moving">{text}</script>'


def _places(shot: Shot, study: Study) -> Iterator[tuple[float, str]]:
    """Name what is heard, bar by bar, for those who move through it without looking."""
    passage = study.passage
    for play in shot.plays:
        for bar in passage.bars:
            if play.span.holds(bar.start_quarters):
                seconds = play.seconds_at(bar.start_quarters)
                yield round(seconds, 3), place_text(passage, bar.start_quarters)


def _name(claim: ClaimOnPage) -> str:
    return f"shot-{escape(claim.shot.name)}"
