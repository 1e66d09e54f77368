"""What stays, as claims: a string that rings on, and the lowest note under all others."""

from collections import Counter
from collections.abc import Iterator, Mapping
from types import MappingProxyType
from typing import Final

from riffract.analysis.drones.words import is_pedal
from riffract.analysis.finding import Anchor, Drone, Position
from riffract.analysis.interval_name import colour_in_sentence, with_article
from riffract.analysis.saying import say
from riffract.analysis.wording import listed, percent
from riffract.essay.claims import Claim
from riffract.essay.excerpts import excerpt
from riffract.essay.shots import SceneName
from riffract.music import Passage, Span
from riffract.weighing.study import WeighedFinding

_PASSES_IT: Final[Mapping[Position, str]] = MappingProxyType(
    {
        "below": "moves above it",
        "above": "moves below it",
        "middle": "moves around it",
        "crossing": "crosses it",
    }
)

_OVER_AN_OPEN_STRING: Final[Mapping[str, str]] = MappingProxyType(
    {
        "semitone": "Above the open low string, the semitone stands out.",
        "minor_third": "Above the open low string, the minor third stands out.",
    }
)
"""The intervals that are weighed, by the names of their measures."""

_OVER_A_NOTE: Final[Mapping[str, str]] = MappingProxyType(
    {
        "semitone": "Above the lowest note, the semitone stands out.",
        "minor_third": "Above the lowest note, the minor third stands out.",
    }
)

_HOW_OFTEN_OVER_IT: Final[Mapping[str, str]] = MappingProxyType(
    {
        "semitone": (
            "{share} of those notes lie a semitone above it, in any octave; an even share would "
            "be {even}."
        ),
        "minor_third": (
            "{share} of those notes lie a minor third above it, in any octave; an even share would "
            "be {even}."
        ),
    }
)


def drone_claim(found: WeighedFinding, what: Drone, passage: Passage) -> Claim:
    """Make a claim of a drone: what stays, and what the line does against it."""
    return Claim(
        title=_drone_title(found, what),
        scene=SceneName.THREAD,
        lines=(
            say("Listen to what stays, and to what each new note does against it."),
            *_colours_said(what),
        ),
        excerpts=(excerpt(passage, found.finding.spans[0]),),
        finding=found,
    )


def anchor_claim(found: WeighedFinding, what: Anchor, passage: Passage, opening: Span) -> Claim:
    """Make a claim of what stands out above the lowest note, the semitone or the minor third."""
    measures = found.finding.measures
    name = max(_OVER_A_NOTE, key=lambda one: measures[f"{one}_emphasis"])
    often = say(
        _HOW_OFTEN_OVER_IT[name],
        share=percent(measures[f"{name}_share"]),
        even=percent(1.0 / measures["pcs_above"]),
    )
    if what.is_lowest_open:
        title = say(_OVER_AN_OPEN_STRING[name])
        listen = say("Listen to the low string, and to how far above it each other note lies.")
    else:
        title = say(_OVER_A_NOTE[name])
        listen = say("Listen to the lowest note, and to how far above it each other note lies.")
    return Claim(
        title=title,
        scene=SceneName.CLOCK,
        lines=(listen, often),
        excerpts=(excerpt(passage, opening),),
        finding=found,
    )


def _drone_title(found: WeighedFinding, what: Drone) -> str:
    moves = say(_PASSES_IT[what.position])
    if is_pedal(found.finding.measures):
        if what.is_open:
            return say("One open string is struck again and again; the line {moves}.", moves=moves)
        return say("One note is struck again and again; the line {moves}.", moves=moves)
    if what.is_open:
        return say("One string rings on; the line {moves}.", moves=moves)
    return say("One held note rings on; the line {moves}.", moves=moves)


def _colours_said(what: Drone) -> Iterator[str]:
    """Say which intervals with the drone come most often: one or two that occur more than once."""
    counts = Counter(colour.semitones for colour in what.colours).most_common(2)
    most = [semitones for semitones, count in counts if count > 1]
    if not most:
        return
    if len({semitones > 0 for semitones in most}) == 1 and 0 not in most:
        names = listed([with_article(semitones) for semitones in most], "or")
        if most[0] > 0:
            yield say("Most often the line is {intervals} above it.", intervals=names)
        else:
            yield say("Most often the line is {intervals} below it.", intervals=names)
    else:
        names = listed([colour_in_sentence(semitones) for semitones in most], "or")
        yield say("Most often the line is {intervals}.", intervals=names)
