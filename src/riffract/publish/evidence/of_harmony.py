"""What bears out findings on scales, set classes, ringing strings and anchors, in words."""

from collections.abc import Iterable, Mapping, Sequence
from typing import Final

from riffract.analysis.collections.form import display_name
from riffract.analysis.finding import Anchor, Collection, CollectionChange, Drone, Sonority
from riffract.analysis.saying import say
from riffract.analysis.set_class import class_with_number
from riffract.analysis.spelling import names_in, pitch_spelled, scale_names
from riffract.analysis.wording import length_text, percent, times
from riffract.music import Passage, Span
from riffract.publish.wording import Fact, heard_places, place_text, semitones_text, spans_text

Harmony = Sonority | Collection | CollectionChange | Drone | Anchor


def harmony_facts(what: Harmony, passage: Passage) -> tuple[Fact, ...]:
    """List what a reader needs to find the answer in the notes again."""
    match what:
        case Sonority():
            return _sonority_facts(what, passage)
        case Collection():
            return _collection_facts(what, passage)
        case CollectionChange():
            return _collection_change_facts(what, passage)
        case Drone():
            return _drone_facts(what, passage)
        case Anchor():
            return _anchor_facts(what, passage)


def harmony_sound(what: Harmony, passage: Passage, heard: Sequence[Span]) -> str:
    """Name the one thing to listen for, one that is heard if there is such."""
    match what:
        case Sonority():
            return _sonority_sound(what, passage, heard)
        case Collection():
            return _collection_sound(what, passage, heard)
        case CollectionChange():
            at = place_text(passage, what.at_quarters)
            return say("the change of colour at {place}", place=at)
        case Drone():
            return say(
                "string {string}, which keeps to one note while the others move",
                string=what.string,
            )
        case Anchor():
            pitch = pitch_spelled(what.pitch, names_in(passage))
            if what.is_lowest_open:
                return say("the lowest string, {pitch}, and what is struck above it", pitch=pitch)
            return say("the lowest note, {pitch}, and what is struck above it", pitch=pitch)


_HOW: Final = {
    "struck": "struck together",
    "ringing": "ringing together",
    "in_succession": "in a row",
}
_POSITIONS: Final = {
    "below": "below",
    "middle": "middle",
    "above": "above",
    "crossing": "crossing",
}


def _sonority_facts(what: Sonority, passage: Passage) -> tuple[Fact, ...]:
    return (
        ("set class", f"({' '.join(map(str, what.prime_form))}), {what.forte}"),
        ("sounds", say(_HOW[what.how])),
        ("occurrences", spans_text(passage, what.occurrences, most=6)),
        ("share of the time", percent(what.share)),
        *_ways_up(what),
        *([("with what rings on", _counts(what.with_ringing))] if what.with_ringing else []),
    )


def _ways_up(what: Sonority) -> list[Fact]:
    if len(what.ways_up) < 2:
        return []
    ways = [(f"({' '.join(map(str, form))})", count) for form, count in what.ways_up]
    return [("which way up", _counts(ways))]


def _counts(counted_names: Iterable[tuple[str, int]]) -> str:
    return ", ".join(f"{name} {times(count)}" for name, count in counted_names)


def _sonority_sound(what: Sonority, passage: Passage, heard: Sequence[Span]) -> str:
    if not what.occurrences:
        return say("this sound")
    first = heard_places([span.start_quarters for span in what.occurrences], heard)[0]
    return say("the sound at {place}", place=place_text(passage, first))


def _collection_facts(what: Collection, passage: Passage) -> tuple[Fact, ...]:
    names = scale_names(what.pcs, names_in(passage))
    told = [
        ("scale", f"{say(what.family)}, {display_name(what.form)}: {_letters(what.pcs, names)}"),
        ("inside", say("{share} of the attacks", share=percent(what.inside_share))),
        ("ringing strings", say("counted") if what.with_drone else say("left out")),
    ]
    if what.missing:
        told.append(("does not occur", _letters(what.missing, names)))
    if what.foreign:
        strays = [
            say("{note} at {place}", note=names[n.pc], place=place_text(passage, n.at_quarters))
            for n in what.foreign[:4]
        ]
        told.append(("strays", "; ".join(strays) + (" …" if len(what.foreign) > 4 else "")))
    if what.fragment and what.also_in:
        others = [display_name(name) for name in what.also_in[:6]]
        told.append(("also lies in", ", ".join(others) + (" …" if len(what.also_in) > 6 else "")))
    other_ways = (
        ("by attacks alone", what.by_attacks),
        ("by time alone", what.by_time),
        ("without ringing strings" if what.with_drone else "with them", what.with_ringing),
    )
    told += [(way, display_name(form)) for way, form in other_ways if form not in {None, what.form}]
    return tuple(told)


def _collection_sound(what: Collection, passage: Passage, heard: Sequence[Span]) -> str:
    names = names_in(passage)
    strays = [(note.at_quarters, note.pc) for note in what.foreign]
    if not strays:
        return say("the colour of {notes}", notes=_letters(what.pcs, names))
    first = heard_places([at for at, _ in strays], heard)[0]
    return say(
        "the stray {note} at {place}",
        note=names[dict(strays)[first]],
        place=place_text(passage, first),
    )


def _collection_change_facts(what: CollectionChange, passage: Passage) -> tuple[Fact, ...]:
    names = names_in(passage)
    told = [
        ("from", _scale_text(what.from_form, what.from_pcs, names)),
        ("to", _scale_text(what.to_form, what.to_pcs, names)),
        ("first at", place_text(passage, what.at_quarters)),
        ("in both", _letters(what.common_pcs, names) or say("nothing")),
    ]
    if what.places:
        sure = [
            f"{place_text(passage, p.at_quarters)} ({percent(p.certainty)})"
            for p in what.places[:4]
        ]
        told.append(("how sure", "; ".join(sure) + (" …" if len(what.places) > 4 else "")))
    if what.transposition is not None:
        told.append(("moved by", semitones_text(what.transposition)))
    return tuple(told)


def _scale_text(form: str, pcs: Sequence[int], names: Mapping[int, str]) -> str:
    return f"{display_name(form)}: {_letters(pcs, scale_names(pcs, names))}"


def _drone_facts(what: Drone, passage: Passage) -> tuple[Fact, ...]:
    colours = [
        say("{note} at {place}", note=c.name, place=place_text(passage, c.at_quarters))
        for c in what.colours[:4]
    ]
    pitch = pitch_spelled(what.pitch, names_in(passage))
    return (
        ("string", f"{what.string}, {say('open') if what.is_open else say('stopped')}: {pitch}"),
        ("lies", say(_POSITIONS[what.position])),
        ("against the moving voice", "; ".join(colours) + (" …" if len(what.colours) > 4 else "")),
        *_drone_effect(what, passage),
    )


def _drone_effect(what: Drone, passage: Passage) -> list[Fact]:
    """Tell what a ringing string does: where it is crossed, and what it makes of what sounds."""
    told: list[Fact] = []
    if what.crossings:
        at = [place_text(passage, place) for place in what.crossings[:4]]
        told.append(("changes sides at", "; ".join(at) + (" …" if len(what.crossings) > 4 else "")))
    if what.turns:
        metre = passage.bars[0].metre
        turns = [
            say(
                "{without} into {together}, {length}",
                without=class_with_number(one.without),
                together=class_with_number(one.together),
                length=length_text(one.quarters, metre),
            )
            for one in what.turns[:3]
        ]
        told.append(("turns", "; ".join(turns)))
    return told


def _anchor_facts(what: Anchor, passage: Passage) -> tuple[Fact, ...]:
    pitch = pitch_spelled(what.pitch, names_in(passage))
    metre = passage.bars[0].metre
    most = sorted(what.intervals.items(), key=lambda item: -item[1].quarters)[:5]
    return (
        (
            "lowest open string" if what.is_lowest_open else "lowest note",
            say("{pitch}, struck {often}", pitch=pitch, often=times(len(what.timeline))),
        ),
        (
            "most above it",
            "; ".join(
                f"{semitones_text(semitones)}: {times(tally.count)}, "
                f"{length_text(tally.quarters, metre)}"
                for semitones, tally in most
            ),
        ),
    )


def _letters(pcs: Iterable[int], names: Mapping[int, str]) -> str:
    return " ".join(names[pc] for pc in pcs)
