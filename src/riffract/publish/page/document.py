"""The web page: one file with all in it, that asks nothing of the network.

Its policy lets in the one script and the one style that are part of it, by their sums (W3C, Content
Security Policy Level 3, 8.3), and sound that is part of it; nothing else.
"""

import re
from base64 import b64encode
from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from hashlib import sha256
from html import escape
from importlib.resources import files
from typing import Final

import msgspec

from riffract.analysis.saying import say
from riffract.essay.by_hand.measured import HandMeasured
from riffract.essay.shot_list import SAFE_LISTENING
from riffract.essay.shots import Shot
from riffract.picture.look import DARK, PAPER, Look
from riffract.picture.marks import Role
from riffract.publish.about import About
from riffract.publish.handout.systems import systems
from riffract.publish.page.evidence_list import by_hand_html, evidence_html
from riffract.publish.page.pictures import Pictures, pictures_html
from riffract.publish.wording import clock_text, place_text, play_text
from riffract.weighing.study import Study

UPRIGHT_COLUMNS: Final = 40
"""Signs in a row of tab on a telephone: at 360 px they are 12 px high, as small print is; fewer
would break a bar of sixteenths in three (common practice)."""

_HERE: Final = files("riffract.publish.page")
_SCRIPTS: Final = ("moments.js", "page.js")
_MODULE_LINE: Final = re.compile(r"^(?:import .*\n|export )", re.MULTILINE)


@dataclass(frozen=True, slots=True, kw_only=True)
class ClaimOnPage:
    """One claim as the page shows it.

    Attributes:
        shot: its words, and what is played.
        pictures: its picture for a wide window and for an upright telephone.
        sound: an address that holds the sound; `None` if nothing sounds.
    """

    shot: Shot
    pictures: Pictures
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
    by_hand: Sequence[HandMeasured] = (),
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
        by_hand: what the analyst has set by hand.
    """
    style, script = _style(look), page_script()
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
            *by_hand_html(by_hand),
            *_passage(tab_text),
            "</main>",
            *_foot(about),
            f"<script>{script}</script>",
            "</body>",
            "</html>\n",
        ]
    )


def page_script() -> str:
    """Join the script's modules into one text: a page that is opened from a disk may load none."""
    texts = [_MODULE_LINE.sub("", _HERE.joinpath(name).read_text("utf-8")) for name in _SCRIPTS]
    return "".join(texts)


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
    yield from pictures_html(name, claim.pictures, can_move=claim.sound is not None)
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
    yield f"<details><summary>{escape(say('What the picture shows'))}</summary>"
    yield f'<p id="{name}-seen">{escape(claim.pictures.wide.description)}</p></details>'
    yield from evidence_html(shot, study)
    yield "</article>"


def _player(claim: ClaimOnPage, sound: str, study: Study) -> Iterator[str]:
    shot = claim.shot
    heard = "; ".join(play_text(study.passage, play) for play in shot.plays)
    label, play = escape(shot.title), escape(say("Play"))
    places = msgspec.json.encode(list(_places(shot, study))).decode()
    yield f'<p class="heard">{play}: {escape(heard)}</p>' if heard else ""
    yield f'<audio controls preload="metadata" aria-label="{label}" src="{sound}"></audio>'
    yield (
        f'<div class="player" role="group" aria-label="{label}" hidden>'
        f'<button type="button" data-play="{play}" data-pause="{escape(say("Pause"))}">'
        f"{play}</button>"
        f'<input type="range" min="0" max="{shot.length_seconds:g}" step="0.1" value="0" '
        f'aria-label="{escape(say("Place in the music"))}" data-places="{escape(places)}">'
        f'<span class="clock">{clock_text(0.0)} / {clock_text(shot.length_seconds)}</span></div>'
    )


def _passage(tab_text: str) -> Iterator[str]:
    label = escape(say("The passage"))
    yield '<section id="passage" aria-labelledby="passage-title">'
    yield f'<h2 id="passage-title">{label}</h2>'
    narrow = "\n\n".join(systems(tab_text, most_columns=UPRIGHT_COLUMNS))
    for shape, text in (("wide", tab_text), ("upright", narrow)):
        yield (
            f'<pre class="{shape}" tabindex="0" role="group" aria-label="{label}">'
            f"{escape(text)}</pre>"
        )
    yield "</section>"


def _foot(about: About) -> Iterator[str]:
    lines = [line for line in (*about.credits, about.rights) if line]
    yield "<footer>"
    yield from (f"<p>{escape(line)}</p>" for line in lines)
    yield f"<p>{escape(say(SAFE_LISTENING))}</p>"
    yield "</footer>"


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
