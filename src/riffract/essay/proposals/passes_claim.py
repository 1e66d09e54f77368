"""Statements of a riff as a claim: what to listen for, and what a pass changes in a few words."""

from collections.abc import Iterator, Sequence
from fractions import Fraction
from itertools import accumulate
from typing import Final

from riffract.analysis.finding import Edit, Pass, Passes
from riffract.analysis.passes.endings import replaced_ending
from riffract.analysis.saying import say, say_count
from riffract.analysis.wording import capital, in_words, listed
from riffract.essay.claims import Claim
from riffract.essay.excerpts import excerpt_with, in_one_go
from riffract.essay.shots import SceneName
from riffract.music import Passage, Span, TimeMap
from riffract.weighing.study import WeighedFinding

MOST_DEPARTURES_SAID: Final = 2

LONGEST_PASSES_SECONDS: Final = 24.0
"""How long statements of a riff are played, one after the other."""

_ORDINALS: Final = (
    "first{nth}",
    "second{nth}",
    "third{nth}",
    "fourth{nth}",
    "fifth{nth}",
    "sixth{nth}",
    "seventh{nth}",
    "eighth{nth}",
    "ninth{nth}",
    "tenth{nth}",
)
"""Told apart from the intervals of these names by a place that is left empty."""


def passes_claim(found: WeighedFinding, what: Passes, passage: Passage) -> Claim:
    """Make a claim of passes: a plain statement and those that depart are played."""
    passes = what.readings[0].passes
    departing = [n for n, one in enumerate(passes) if _departs(one)]
    lines = [say("Listen for the riff, and for the place where it starts again.")]
    if departing:
        lines = [
            say("Listen for the riff, and for what is not the same when it comes back."),
            say("Each row is one statement; added, missing and changed notes are marked."),
            *_departures_said(passes),
        ]
    else:
        lines.append(
            say("Each row is one statement: what stands in one column is the same moment.")
        )
    return Claim(
        title=found.finding.sentence,
        scene=SceneName.STACK,
        lines=tuple(lines),
        excerpts=in_one_go(passage, _heard_passes(passage, passes)),
        finding=found,
    )


def _heard_passes(passage: Passage, passes: Sequence[Pass]) -> list[Span]:
    """Choose what is played: a plain statement, then those that depart, as many as time allows.

    Where a pass is long, the part with its first departure is played, and of the plain statement
    the same part.
    """
    whole = next((one for one in passes if not _departs(one)), passes[0])
    others = [one for one in passes if one is not whole]
    others = [one for one in others if _departs(one)] or others[:1]
    if not others:
        return [whole.span]
    offset = _first_departure(others[0]) - others[0].span.start_quarters
    plain = excerpt_with(passage, whole.span, whole.span.start_quarters + offset).span
    heard = [excerpt_with(passage, one.span, _first_departure(one)).span for one in others]
    time_map = TimeMap.from_tempos(passage.tempos, passage.length_quarters)
    seconds = accumulate(
        time_map.seconds_at(span.end_quarters) - time_map.seconds_at(span.start_quarters)
        for span in (plain, *heard)
    )
    kept = [
        span
        for span, so_far in zip((plain, *heard), seconds, strict=True)
        if so_far <= LONGEST_PASSES_SECONDS
    ]
    return [plain, *(kept[1:] or heard[:1])]


def _first_departure(one: Pass) -> Fraction:
    """Tell where a pass first departs; its start if it does not, or starts late."""
    ends = [one.span.end_quarters] if one.truncated == "right" else []
    starts = [one.span.start_quarters] if one.truncated == "left" else []
    places = [*starts, *(edit.at_quarters for edit in one.edits), *ends]
    return min(places, default=one.span.start_quarters)


def _departs(one: Pass) -> bool:
    return bool(one.edits) or one.truncated != "none"


def _departures_said(passes: Sequence[Pass]) -> Iterator[str]:
    """Say what departs where that is soon said: by one sort of edit in each pass, two in all."""
    when: dict[str, list[str]] = {}
    for ordinal, one in zip(_ORDINALS, passes, strict=False):
        if _departs(one):
            when.setdefault(_departure(one), []).append(say(ordinal, nth=""))
    if "" not in when and len(when) <= MOST_DEPARTURES_SAID and len(passes) <= len(_ORDINALS):
        said = "; ".join(
            say("the {ordinals} time, {departure}", ordinals=listed(ordinals), departure=words)
            for words, ordinals in when.items()
        )
        yield f"{capital(said)}."


def _departure(one: Pass) -> str:
    """Say how a pass departs; nothing if it does so in several ways."""
    if replaced_ending(one) == one.edits != ():
        return say("it ends in another way")
    if one.truncated != "none" and not one.edits:
        is_start = one.truncated == "left"
        return say("the beginning is missing") if is_start else say("it breaks off")
    sorts: set[str] = {edit.op for edit in one.edits}
    if one.truncated != "none" or len(sorts) != 1:
        return ""
    return _edits_said(one.edits)


def _edits_said(edits: Sequence[Edit]) -> str:
    """Say what some edits of one sort do.

    An edit is of an attack, which may be a chord; hence *sound*, not *note*.
    """
    count, number = len(edits), in_words(len(edits))
    match edits[0].op:
        case "insert":
            return say_count(
                count, "one sound is added", "{number} sounds are added", number=number
            )
        case "delete":
            return say_count(
                count, "one sound is missing", "{number} sounds are missing", number=number
            )
        case "substitute":
            return say_count(
                count, "one sound is changed", "{number} sounds are changed", number=number
            )
        case "shift":
            return say_count(
                count,
                "one sound has another length",
                "{number} sounds have another length",
                number=number,
            )
