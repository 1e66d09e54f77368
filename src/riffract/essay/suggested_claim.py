"""A finding as a claim: its picture, plain words, and what is played.

Each claim has one thing to listen for, and its first line names it. The words keep to what the
finding holds: they say what comes back, changes or rings, never why it was written.
"""

from collections import Counter
from collections.abc import Iterator, Mapping, Sequence
from fractions import Fraction
from itertools import accumulate
from types import MappingProxyType
from typing import Final

from riffract.analysis.drone_words import is_pedal
from riffract.analysis.endings import replaced_ending
from riffract.analysis.finding import (
    Anchor,
    Collection,
    CollectionChange,
    Drone,
    Edit,
    Gesture,
    Hand,
    How,
    MetreAnswer,
    Mirror,
    Motive,
    Pass,
    Passes,
    Pattern,
    Position,
    Sonority,
    What,
)
from riffract.analysis.interval_name import colour_in_sentence, with_article
from riffract.analysis.pitch_class_set import mask_of
from riffract.analysis.set_class import class_name, least_transposition
from riffract.analysis.wording import in_words, listed, percent, times
from riffract.essay.claims import Claim
from riffract.essay.excerpts import around, excerpt, excerpt_with, in_one_go
from riffract.essay.mirror_claim import mirror_claim
from riffract.essay.shots import SceneName
from riffract.music import Passage, Span, TimeMap
from riffract.weighing.study import WeighedFinding

EVEN_WITHIN: Final = 0.25
"""A climb and a fall whose lengths differ by less do not strike the ear as unlike."""

MOST_DEPARTURES_SAID: Final = 2

LONGEST_PASSES_SECONDS: Final = 24.0
"""How long statements of a riff are played, one after the other."""


def suggested_claim(found: WeighedFinding, passage: Passage, *, opening: Span) -> Claim:
    """Make a claim of a finding.

    Args:
        found: what bears it out.
        passage: where it was found.
        opening: the stretch to play for what is heard throughout: the riff, if there is one.
    """
    what = found.finding.what
    match what:
        case Gesture():
            return _of_gesture(found, what, passage, opening)
        case Passes():
            return _of_passes(found, what, passage)
        case Mirror():
            return mirror_claim(found, what, passage)
        case Sonority():
            return _of_sonority(found, what, passage)
        case Collection():
            return _of_collection(found, what, passage)
        case CollectionChange():
            return _of_change(found, what, passage)
        case Drone():
            return _of_drone(found, what, passage)
        case Anchor():
            return _of_anchor(found, passage, opening)
        case Motive() | Pattern() | Hand() | MetreAnswer():
            return _of_build(found, passage, opening)


def _of_build(found: WeighedFinding, passage: Passage, opening: Span) -> Claim:
    """Claim where an idea comes from, what a hand shape gives, how the riff sits in the bar."""
    scene, line = _build_shown(found.finding.what)
    return Claim(
        title=found.finding.sentence,
        scene=scene,
        lines=(line,),
        excerpts=in_one_go(passage, found.finding.spans or (opening,)),
        finding=found,
    )


def _build_shown(what: What) -> tuple[SceneName, str]:
    """Choose the picture and what to look for in it; the page for what has none of its own."""
    match what:
        case Motive(family=family) if family is not None and len(family.stages) > 1:
            return SceneName.GROWTH, "Read down from the earliest stage: watch the idea fill up."
        case Hand(shapes=shapes) if shapes:
            return SceneName.HAND, "Watch the hand: it keeps its shape and changes its place."
        case MetreAnswer(meets_after=meets, phase=phase) if meets is not None and phase:
            return SceneName.METRE, "Watch where each pass starts in its bar: it slips."
        case MetreAnswer():
            return SceneName.METRE, "Count along with the strong strokes."
        case _:
            return SceneName.PAGE, "Follow the marked notes."


def _of_gesture(found: WeighedFinding, what: Gesture, passage: Passage, opening: Span) -> Claim:
    return Claim(
        title=_gesture_title(what) or found.finding.sentence,
        scene=SceneName.PAGE,
        lines=("Follow the marks: they stand where the line rises, and hang where it falls.",),
        excerpts=(excerpt(passage, opening),),
        finding=found,
    )


def _gesture_title(what: Gesture) -> str | None:
    """Say which way takes longer, if both ways occur and one does by a quarter or more."""
    if what.ratio is None or max(what.ratio, 1 / what.ratio) <= 1.0 + EVEN_WITHIN:
        return None
    longer, shorter = ("fall", "climb") if what.ratio > 1.0 else ("climb", "fall")
    return f"A {longer} takes {_factor(max(what.ratio, 1 / what.ratio))} as long as a {shorter}."


def _factor(ratio: float) -> str:
    """Write how many times.

    >>> _factor(2.02), _factor(3.0), _factor(1.6)
    ('twice', 'three times', '1.6 times')
    """
    rounded = round(ratio, 1)
    return times(int(rounded)) if rounded == int(rounded) else f"{rounded} times"


def _of_passes(found: WeighedFinding, what: Passes, passage: Passage) -> Claim:
    passes = what.readings[0].passes
    departing = [n for n, one in enumerate(passes) if _departs(one)]
    lines = ["Listen for the riff, and for the place where it starts again."]
    if departing:
        lines = [
            "Listen for the riff, and for what is not the same when it comes back.",
            "Each row is one statement; added, missing and changed notes are marked.",
            *_departures_said(passes),
        ]
    else:
        lines.append("Each row is one statement: what stands in one column is the same moment.")
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
            when.setdefault(_departure(one), []).append(ordinal)
    if "" not in when and len(when) <= MOST_DEPARTURES_SAID and len(passes) <= len(_ORDINALS):
        said = "; ".join(
            f"the {listed(ordinals)} time, {words}" for words, ordinals in when.items()
        )
        yield f"{said[:1].upper()}{said[1:]}."


def _departure(one: Pass) -> str:
    """Say how a pass departs; nothing if it does so in several ways."""
    if replaced_ending(one) == one.edits != ():
        return "it ends in another way"
    if one.truncated != "none" and not one.edits:
        return "the beginning is missing" if one.truncated == "left" else "it breaks off"
    sorts: set[str] = {edit.op for edit in one.edits}
    if one.truncated != "none" or len(sorts) != 1:
        return ""
    return _edits_said(one.edits)


def _edits_said(edits: Sequence[Edit]) -> str:
    """Say what some edits of one sort do.

    An edit is of an attack, which may be a chord; hence *sound*, not *note*.
    """
    count = len(edits)
    sounds = f"{in_words(count)} sound{'' if count == 1 else 's'}"
    verb = "is" if count == 1 else "are"
    match edits[0].op:
        case "insert":
            return f"{sounds} {verb} added"
        case "delete":
            return f"{sounds} {verb} missing"
        case "substitute":
            return f"{sounds} {verb} changed"
        case "shift":
            return f"{sounds} {'has' if count == 1 else 'have'} another length"


_ORDINALS: Final = (
    "first",
    "second",
    "third",
    "fourth",
    "fifth",
    "sixth",
    "seventh",
    "eighth",
    "ninth",
    "tenth",
)


_SOUNDS: Final[Mapping[How, str]] = MappingProxyType(
    {
        "struck": "One chord is struck {often}",
        "ringing": "One sound rings {often}",
        "in_succession": "One cell of notes runs through the line, {often}",
    }
)


def _of_sonority(found: WeighedFinding, what: Sonority, passage: Passage) -> Claim:
    often = len(what.occurrences)
    name = class_name(mask_of(pcs) for pcs in what.occurrence_pcs)
    start = _SOUNDS[what.how].format(often=times(often))
    first = passage.bar_at(what.occurrences[0].start_quarters).number
    where = "at the very start" if what.is_first_sound else f"in bar {first}"
    return Claim(
        title=f"{start}: {name}." if often > 1 else found.finding.sentence,
        scene=SceneName.CLOCK,
        lines=(
            f"Listen for it {where}{', and each time that it comes back' if often > 1 else ''}.",
            f"On a ring of all twelve notes it is one shape{_forms_said(what)}.",
        ),
        excerpts=(
            excerpt(
                passage,
                Span(what.occurrences[0].start_quarters, what.occurrences[-1].end_quarters),
            ),
        ),
        finding=found,
    )


def _forms_said(what: Sonority) -> str:
    """Say how the shape on the ring stands: in one place, moved, or turned over as well."""
    sets = {mask_of(pcs) for pcs in what.occurrence_pcs}
    if len(what.occurrences) < 2:
        return ""
    if len(sets) == 1:
        return ": always the same notes"
    if len({least_transposition(mask) for mask in sets}) == 1:
        return ": the notes change, the shape stays"
    return ", some of the time mirrored"


_RING: Final = "Twelve notes on one ring, neighbours a semitone apart; what is used stands out."


def _of_collection(found: WeighedFinding, what: Collection, passage: Passage) -> Claim:
    strays = len({note.pc for note in what.foreign})
    outside = "One note lies" if strays == 1 else f"{in_words(strays).capitalize()} notes lie"
    return Claim(
        title=f"{found.finding.sentence.partition(':')[0].rstrip('.')}.",
        scene=SceneName.CLOCK,
        lines=(
            "Listen for the colour of the whole stretch: it comes from which notes are used.",
            _RING,
            *((f"{outside} outside it.",) if strays else ()),
        ),
        excerpts=(excerpt(passage, found.finding.spans[0]),),
        finding=found,
    )


def _of_change(found: WeighedFinding, what: CollectionChange, passage: Passage) -> Claim:
    bar = passage.bar_at(what.at_quarters).number
    is_moved = what.transposition is not None
    common = len(what.common_pcs)
    new = len(set(what.to_pcs) - set(what.from_pcs))
    stay = f"{in_words(common).capitalize()} note{' stays' if common == 1 else 's stay'}"
    come = f"{in_words(new)} {'is' if new == 1 else 'are'} new"
    return Claim(
        title="The same sound, another scale." if is_moved else "The scale changes on the way.",
        scene=SceneName.CLOCK,
        lines=(
            f"Listen for the change of colour in bar {bar}.",
            f"{stay}, {come}." if common else "Not one note of the old scale stays.",
        ),
        excerpts=(around(passage, what.at_quarters),),
        finding=found,
    )


_PASSES_IT: Final[Mapping[Position, str]] = MappingProxyType(
    {
        "below": "moves above it",
        "above": "moves below it",
        "middle": "moves around it",
        "crossing": "crosses it",
    }
)


def _of_drone(found: WeighedFinding, what: Drone, passage: Passage) -> Claim:
    who = "One string" if what.is_open else "One held note"
    stays = "rings on"
    if is_pedal(found.finding.measures):
        who = "One open string" if what.is_open else "One note"
        stays = "is struck again and again"
    return Claim(
        title=f"{who} {stays}; the line {_PASSES_IT[what.position]}.",
        scene=SceneName.THREAD,
        lines=(
            "Listen to what stays, and to what each new note does against it.",
            *_colours_said(what),
        ),
        excerpts=(excerpt(passage, found.finding.spans[0]),),
        finding=found,
    )


def _colours_said(what: Drone) -> Iterator[str]:
    """Say which intervals with the drone come most often: one or two that occur more than once."""
    counts = Counter(colour.semitones for colour in what.colours).most_common(2)
    most = [semitones for semitones, count in counts if count > 1]
    if not most:
        return
    if len({semitones > 0 for semitones in most}) == 1 and 0 not in most:
        names = listed([with_article(semitones) for semitones in most], "or")
        yield f"Most often the line is {names} {'above' if most[0] > 0 else 'below'} it."
    else:
        yield f"Most often the line is {listed([colour_in_sentence(n) for n in most], 'or')}."


_OVER_THE_ANCHOR: Final[Mapping[str, str]] = MappingProxyType(
    {"semitone": "semitone", "minor_third": "minor third"}
)
"""The intervals that are weighed, by the names of their measures."""


def _of_anchor(found: WeighedFinding, passage: Passage, opening: Span) -> Claim:
    measures = found.finding.measures
    name = max(_OVER_THE_ANCHOR, key=lambda one: measures[f"{one}_emphasis"])
    interval, even = _OVER_THE_ANCHOR[name], 1.0 / measures["pcs_above"]
    often = (
        f"{percent(measures[f'{name}_share'])} of those notes lie a {interval} above it, in any "
        f"octave; an even share would be {percent(even)}."
    )
    what = found.finding.what
    is_open = not isinstance(what, Anchor) or what.is_lowest_open
    low = "low string" if is_open else "lowest note"
    return Claim(
        title=f"Above the {'open ' if is_open else ''}{low}, the {interval} stands out.",
        scene=SceneName.CLOCK,
        lines=(f"Listen to the {low}, and to how far above it each other note lies.", often),
        excerpts=(excerpt(passage, opening),),
        finding=found,
    )
