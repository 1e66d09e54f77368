"""Sounds and scales as claims: what is shown on the ring of all twelve notes."""

from collections.abc import Mapping
from types import MappingProxyType
from typing import Final

from riffract.analysis.finding import Collection, CollectionChange, How, Sonority
from riffract.analysis.pitch_class_set import mask_of
from riffract.analysis.saying import say, say_count
from riffract.analysis.set_class import class_name, least_transposition
from riffract.analysis.wording import capital, in_words, times
from riffract.essay.claims import Claim
from riffract.essay.excerpts import around, excerpt
from riffract.essay.shots import SceneName
from riffract.music import Passage, Span
from riffract.weighing.study import WeighedFinding

_SOUNDS: Final[Mapping[How, str]] = MappingProxyType(
    {
        "struck": "One chord is struck {often}",
        "ringing": "One sound rings {often}",
        "in_succession": "One cell of notes runs through the line, {often}",
    }
)

_RING: Final = "Twelve notes on one ring, neighbours a semitone apart; what is used stands out."


def sonority_claim(found: WeighedFinding, what: Sonority, passage: Passage) -> Claim:
    """Make a claim of a sound: how often it comes, and how its shape lies on the ring."""
    often = len(what.occurrences)
    name = class_name(mask_of(pcs) for pcs in what.occurrence_pcs)
    start = say(_SOUNDS[what.how], often=times(often))
    return Claim(
        title=f"{start}: {name}." if often > 1 else found.finding.sentence,
        scene=SceneName.CLOCK,
        lines=(_where_to_hear(what, passage), _forms_said(what)),
        excerpts=(
            excerpt(
                passage,
                Span(what.occurrences[0].start_quarters, what.occurrences[-1].end_quarters),
            ),
        ),
        finding=found,
    )


def collection_claim(found: WeighedFinding, what: Collection, passage: Passage) -> Claim:
    """Make a claim of a scale: its colour, and what lies outside it."""
    strays = len({note.pc for note in what.foreign})
    outside = say_count(
        strays,
        "One note lies outside it.",
        "{number} notes lie outside it.",
        number=capital(in_words(strays)),
    )
    return Claim(
        title=f"{found.finding.sentence.partition(':')[0].rstrip('.')}.",
        scene=SceneName.CLOCK,
        lines=(
            say("Listen for the colour of the whole stretch: it comes from which notes are used."),
            say(_RING),
            *((outside,) if strays else ()),
        ),
        excerpts=(excerpt(passage, found.finding.spans[0]),),
        finding=found,
    )


def change_claim(found: WeighedFinding, what: CollectionChange, passage: Passage) -> Claim:
    """Make a claim of a change of scale: where it is, what stays and what is new."""
    bar = passage.bar_at(what.at_quarters).number
    is_moved = what.transposition is not None
    common = len(what.common_pcs)
    new = len(set(what.to_pcs) - set(what.from_pcs))
    told = {
        "stay": say_count(
            common, "One note stays", "{number} notes stay", number=capital(in_words(common))
        ),
        "come": say_count(new, "{number} is new", "{number} are new", number=in_words(new)),
    }
    return Claim(
        title=(
            say("The same sound, another scale.")
            if is_moved
            else say("The scale changes on the way.")
        ),
        scene=SceneName.CLOCK,
        lines=(
            say("Listen for the change of colour in bar {bar}.", bar=bar),
            say("{stay}, {come}.", **told)
            if common
            else say("Not one note of the old scale stays."),
        ),
        excerpts=(around(passage, what.at_quarters),),
        finding=found,
    )


def _where_to_hear(what: Sonority, passage: Passage) -> str:
    bar = passage.bar_at(what.occurrences[0].start_quarters).number
    comes_back = len(what.occurrences) > 1
    if what.is_first_sound and comes_back:
        return say("Listen for it at the very start, and each time that it comes back.")
    if what.is_first_sound:
        return say("Listen for it at the very start.")
    if comes_back:
        return say("Listen for it in bar {bar}, and each time that it comes back.", bar=bar)
    return say("Listen for it in bar {bar}.", bar=bar)


def _forms_said(what: Sonority) -> str:
    """Say how the shape on the ring stands: in one place, moved, or turned over as well."""
    sets = {mask_of(pcs) for pcs in what.occurrence_pcs}
    if len(what.occurrences) < 2:
        return say("On a ring of all twelve notes it is one shape.")
    if len(sets) == 1:
        return say("On a ring of all twelve notes it is one shape: always the same notes.")
    if len({least_transposition(mask) for mask in sets}) == 1:
        return say(
            "On a ring of all twelve notes it is one shape: the notes change, the shape stays."
        )
    return say("On a ring of all twelve notes it is one shape, some of the time mirrored.")
