"""The parts that can go out of an essay, and what their files are called."""

from enum import StrEnum
from typing import Final


class Part(StrEnum):
    """What can go out, in the order in which it is made: the quick ones first."""

    FINDINGS = "findings"
    SCRIPT = "script"
    CAPTIONS = "captions"
    HANDOUT = "handout"
    STILLS = "stills"
    FILM = "film"
    LOOPS = "loops"
    OVERLAY = "overlay"


USUAL_PARTS: Final = frozenset(Part) - {Part.LOOPS, Part.OVERLAY}
"""What is made if nothing is asked for; the others are large, and few need them."""

FILM_FILE: Final = "film.mp4"
HANDOUT_FILE: Final = "handout.pdf"
SCRIPT_FILE: Final = "script.md"
FINDINGS_FILE: Final = "findings.json"
TABLE_FILE: Final = "findings.csv"
WEB_VTT_FILE: Final = "captions.vtt"
CHECKS_FILE: Final = "checks.txt"
CHECKS_JSON_FILE: Final = "checks.json"
SUB_RIP_FILE: Final = "captions.srt"
STILLS_FOLDER: Final = "stills"
UNFINISHED_FOLDER: Final = ".unfinished"
"""Shots of a film that was stopped; it goes on from them."""

LOOPS_FOLDER: Final = "loops"
OVERLAY_FOLDER: Final = "overlay"
