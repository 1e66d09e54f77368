"""The parts that can go out of an essay, and what their files are called."""

from enum import StrEnum
from typing import Final


class Part(StrEnum):
    """What can go out, in the order in which it is made: quick ones first, links to others last."""

    FINDINGS = "findings"
    SCRIPT = "script"
    CAPTIONS = "captions"
    CHAPTERS = "chapters"
    DESCRIPTION = "description"
    PASSAGE = "passage"
    HANDOUT = "handout"
    PAGE = "page"
    STILLS = "stills"
    FILM = "film"
    LOOPS = "loops"
    OVERLAY = "overlay"
    STEMS = "stems"
    TIMELINE = "timeline"


USUAL_PARTS: Final = frozenset(Part) - {Part.PAGE, Part.LOOPS, Part.OVERLAY, Part.STEMS}
"""What is made if nothing is asked for; the others are large, and few need them."""

SOUNDING_PARTS: Final = frozenset({Part.FILM, Part.PAGE, Part.STEMS})
"""Those that need the recording, if there is one."""

FILM_FILE: Final = "film.mp4"
HANDOUT_FILE: Final = "handout.pdf"
PAGE_FILE: Final = "page.html"
QUESTIONS_FILE: Final = "handout-questions.pdf"
SCRIPT_FILE: Final = "script.md"
FINDINGS_FILE: Final = "findings.json"
TABLE_FILE: Final = "findings.csv"
WEB_VTT_FILE: Final = "captions.vtt"
CHECKS_FILE: Final = "checks.txt"
CHECKS_JSON_FILE: Final = "checks.json"
DESCRIPTIONS_FILE: Final = "descriptions.vtt"
SUB_RIP_FILE: Final = "captions.srt"
STILLS_FOLDER: Final = "stills"
UNFINISHED_FOLDER: Final = ".unfinished"
"""Shots of a film that was stopped; it goes on from them."""

CHAPTERS_FILE: Final = "chapters.txt"
DESCRIPTION_FILE: Final = "description.txt"
TIMELINE_FILE: Final = "timeline.otio"
MANIFEST_FILE: Final = "manifest.json"
PROMPTER_FILE: Final = "prompter.txt"
TAB_FILE: Final = "passage.tab"
MUSICXML_FILE: Final = "passage.musicxml"
MIDI_FILE: Final = "passage.mid"
EARLIER_FOLDER: Final = "earlier"
LOOPS_FOLDER: Final = "loops"
OVERLAY_FOLDER: Final = "overlay"
STEMS_FOLDER: Final = "stems"
