"""What bears out findings on scales, set classes, ringing strings and anchors, in words."""

from collections.abc import Iterable, Mapping, Sequence

from riffract.analysis.collection_form import display_name
from riffract.analysis.finding import Anchor, Collection, CollectionChange, Drone, Sonority
from riffract.analysis.set_class import class_with_number
from riffract.analysis.spelling import pitch_spelled, scale_names, spelled
from riffract.analysis.wording import length_text, percent, times
from riffract.music import Passage, Span
from riffract.publish.wording import Fact, heard_places, semitones_text, spans_text

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
            return f"the change of colour at {passage.place(what.at_quarters)}"
        case Drone():
            return f"string {what.string}, which keeps to one note while the others move"
        case Anchor():
            pitch = pitch_spelled(what.pitch, _names(passage, (what.pitch,)))
            low = "lowest string" if what.is_lowest_open else "lowest note"
            return f"the {low}, {pitch}, and what is struck above it"


def _sonority_facts(what: Sonority, passage: Passage) -> tuple[Fact, ...]:
    how = {"struck": "struck together", "ringing": "ringing together", "in_succession": "in a row"}
    return (
        ("set class", f"({' '.join(map(str, what.prime_form))}), {what.forte}"),
        ("sounds", how[what.how]),
        ("where", spans_text(passage, what.occurrences, most=6)),
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
        return "this sound"
    first = heard_places([span.start_quarters for span in what.occurrences], heard)[0]
    return f"the sound at {passage.place(first)}"


def _collection_facts(what: Collection, passage: Passage) -> tuple[Fact, ...]:
    names = scale_names(what.pcs, _names(passage, what.pcs))
    told = [
        ("scale", f"{what.family}, {display_name(what.form)}: {_letters(what.pcs, names)}"),
        ("inside", f"{percent(what.inside_share)} of the attacks"),
        ("ringing strings", "counted" if what.with_drone else "left out"),
    ]
    if what.missing:
        told.append(("does not occur", _letters(what.missing, names)))
    if what.foreign:
        strays = [f"{names[n.pc]} at {passage.place(n.at_quarters)}" for n in what.foreign[:4]]
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
    names = _names(passage, what.pcs)
    strays = [(note.at_quarters, note.pc) for note in what.foreign]
    if not strays:
        return f"the colour of {_letters(what.pcs, names)}"
    first = heard_places([at for at, _ in strays], heard)[0]
    return f"the stray {names[dict(strays)[first]]} at {passage.place(first)}"


def _collection_change_facts(what: CollectionChange, passage: Passage) -> tuple[Fact, ...]:
    names = _names(passage, (*what.from_pcs, *what.to_pcs))
    told = [
        ("from", _scale_text(what.from_form, what.from_pcs, names)),
        ("to", _scale_text(what.to_form, what.to_pcs, names)),
        ("first at", str(passage.place(what.at_quarters))),
        ("in both", _letters(what.common_pcs, names) or "nothing"),
    ]
    if what.places:
        sure = [f"{passage.place(p.at_quarters)} ({percent(p.certainty)})" for p in what.places[:4]]
        told.append(("how sure", "; ".join(sure) + (" …" if len(what.places) > 4 else "")))
    if what.transposition is not None:
        told.append(("moved by", semitones_text(what.transposition)))
    return tuple(told)


def _scale_text(form: str, pcs: Sequence[int], names: Mapping[int, str]) -> str:
    return f"{display_name(form)}: {_letters(pcs, scale_names(pcs, names))}"


def _drone_facts(what: Drone, passage: Passage) -> tuple[Fact, ...]:
    colours = [f"{c.name} at {passage.place(c.at_quarters)}" for c in what.colours[:4]]
    pitch = pitch_spelled(what.pitch, _names(passage, (what.pitch,)))
    return (
        ("string", f"{what.string}, {'open' if what.is_open else 'stopped'}: {pitch}"),
        ("lies", what.position),
        ("against the moving voice", "; ".join(colours) + (" …" if len(what.colours) > 4 else "")),
        *_drone_effect(what, passage),
    )


def _drone_effect(what: Drone, passage: Passage) -> list[Fact]:
    """Tell what a ringing string does: where it is crossed, and what it makes of what sounds."""
    told: list[Fact] = []
    if what.crossings:
        at = [str(passage.place(place)) for place in what.crossings[:4]]
        told.append(("changes sides at", "; ".join(at) + (" …" if len(what.crossings) > 4 else "")))
    if what.turns:
        metre = passage.bars[0].metre
        turns = [
            f"{class_with_number(one.without)} into {class_with_number(one.together)}, "
            f"{length_text(one.quarters, metre)}"
            for one in what.turns[:3]
        ]
        told.append(("turns", "; ".join(turns)))
    return told


def _anchor_facts(what: Anchor, passage: Passage) -> tuple[Fact, ...]:
    pitch = pitch_spelled(what.pitch, _names(passage, (what.pitch,)))
    metre = passage.bars[0].metre
    most = sorted(what.intervals.items(), key=lambda item: -item[1].quarters)[:5]
    return (
        (
            "lowest open string" if what.is_lowest_open else "lowest note",
            f"{pitch}, struck {times(len(what.timeline))}",
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


def _names(passage: Passage, more: Iterable[int]) -> Mapping[int, str]:
    """Spell the passage's pitch classes, and some others, so that they fit together."""
    notes = passage.notes
    return spelled([*notes.pitch[notes.is_pitched].tolist(), *more])


def _letters(pcs: Iterable[int], names: Mapping[int, str]) -> str:
    return " ".join(names[pc] for pc in pcs)
