"""What speaks for a finding, in words: its facts, its numbers, its verdict, its method."""

from collections import Counter
from collections.abc import Iterable, Mapping, Sequence
from fractions import Fraction
from typing import Final

from riffract.analysis.collection_form import display_name
from riffract.analysis.finding import (
    Anchor,
    Collection,
    CollectionChange,
    Drone,
    Gesture,
    Hand,
    Kind,
    Limb,
    MetreAnswer,
    Mirror,
    Motive,
    Passes,
    Pattern,
    Sonority,
    What,
)
from riffract.analysis.mirror_departures import departures_text
from riffract.analysis.set_class import class_with_number
from riffract.analysis.spelling import pitch_spelled, scale_names, spelled
from riffract.analysis.wording import axis_text, counted, length_text, percent, signed, times
from riffract.music import Metre, Passage, Span
from riffract.publish.evidence_of_build import build_facts, build_sound
from riffract.publish.wording import Fact, number_text, probability_text, span_text, spans_text
from riffract.weighing.chance import Chance
from riffract.weighing.study import Rival, Study, Verdict, WeighedFinding

VERDICT_NAMES: Final[Mapping[Verdict, str]] = {
    Verdict.FIRM: "firm",
    Verdict.LIKELY: "likely",
    Verdict.SUGGESTIVE: "suggestive",
    Verdict.NOT_BEYOND_CHANCE: "not beyond chance",
    Verdict.TRIVIAL: "trivially true",
}

VERDICT_MEANINGS: Final[Mapping[Verdict, str]] = {
    Verdict.FIRM: "Among findings as strong as this, at most 1 in 100 is expected to be chance; "
    "no other reading comes near, and no single note carries it.",
    Verdict.LIKELY: "Among findings as strong as this, at most 1 in 20 is expected to be chance.",
    Verdict.SUGGESTIVE: "Rare by chance when looked at alone, but much else was looked at too.",
    Verdict.NOT_BEYOND_CHANCE: "Random versions of the riff do as well too often.",
    Verdict.TRIVIAL: "It could not have come out otherwise.",
}

KIND_NAMES: Final[Mapping[Kind, str]] = {
    Kind.PASSES: "passes",
    Kind.MIRROR: "mirror",
    Kind.GESTURE: "gesture",
    Kind.SONORITY: "sonority",
    Kind.COLLECTION: "collection",
    Kind.COLLECTION_CHANGE: "change of collection",
    Kind.DRONE: "drone",
    Kind.ANCHOR: "anchor",
    Kind.MOTIVE: "motive",
    Kind.PATTERN: "pattern",
    Kind.HAND: "hand",
    Kind.METRE: "metre",
}

METHODS: Final[Mapping[Kind, str]] = {
    Kind.PASSES: "The riff is described in the fewest bits: one template in full, each pass only "
    "by its differences from it, anything else in full.",
    Kind.MIRROR: "What lies left and right of every possible axis is paired; the best axis is "
    "compared with the best axes of random versions.",
    Kind.GESTURE: "The moving voice is cut into stretches that go one way, with a price for each "
    "stretch, so that small returns do not count.",
    Kind.SONORITY: "Every chord, every ringing sound and every window of neighbouring pitch "
    "classes in the moving voice is named by its set class.",
    Kind.COLLECTION: "Each scale is weighed by how well it predicts the pitch classes, strays "
    "allowed; larger scales pay for their size. The pitch classes must be rarer than random ones, "
    "and the notes keep to them better than the same intervals in another order.",
    Kind.COLLECTION_CHANGE: "The likeliest scale is followed through time, with a price for each "
    "change.",
    Kind.DRONE: "A pitch that sounds through most of a stretch while others move; each note of "
    "the moving voice is measured against it.",
    Kind.ANCHOR: "Each attack is measured in semitones above the lowest open string, by count, "
    "time and metrical weight, and set against what the scale gives by itself.",
    Kind.MOTIVE: "Two stretches are laid against one another, moved, turned or stretched as a "
    "whole; notes that only one of them has, or that differ, are counted.",
    Kind.PATTERN: "Notes that come back moved by one and the same step in time and pitch, three of "
    "four of them at least, are listed; those that save most are told.",
    Kind.HAND: "The cheapest way of the fretting hand is found with assumed costs for stretches "
    "and shifts; shapes that come back moved are listed.",
    Kind.METRE: "Attacks are counted by their place in the bar, and the start of each pass by "
    "its distance from the bar line.",
}


def weighing_facts(weighed: WeighedFinding) -> tuple[Fact, ...]:
    """List the numbers of the weighing that exist, with the null model and its seed."""
    facts: list[Fact] = []
    chance = weighed.chance
    if chance is not None:
        facts.append(("p", probability_text(chance.p)))
        if weighed.q is not None:
            facts.append(("q", probability_text(weighed.q)))
        if len(chance.draws) > 1:
            facts.append(("effect", f"{number_text(chance.effect)} standard deviations"))
        facts.append(("chance", _null_model(chance)))
    if weighed.log10_bayes is not None:
        facts.append(("Bayes factor", f"10 to the power of {number_text(weighed.log10_bayes)}"))
    return tuple(facts)


def fragility_facts(weighed: WeighedFinding, passage: Passage) -> tuple[Fact, ...]:
    """Say whether a finding stands without any one of its notes; nothing if it does not stand."""
    if weighed.survives is None:
        return ()
    if weighed.survives:
        return (("note by note", "stands without any one of its notes"),)
    if weighed.carried_by is None:
        return (("note by note", "would not be likely without one of its notes"),)
    at = passage.place(passage.notes[weighed.carried_by].onset_quarters)
    return (("note by note", f"rests on the note at {at}"),)


def _null_model(chance: Chance) -> str:
    if not chance.draws:
        return f"computed exactly: {chance.model}"
    return f"{len(chance.draws)} random versions: {chance.model}; seed {chance.seed}"


def measure_facts(weighed: WeighedFinding, passage: Passage) -> tuple[Fact, ...]:
    """List the finding's own measures, units from their names, lengths as the metre counts."""
    spans = weighed.finding.spans
    metre = passage.bar_at(spans[0].start_quarters if spans else Fraction(0)).metre
    return tuple(_measure(name, value, metre) for name, value in weighed.finding.measures.items())


def rival_text(rival: Rival, study: Study) -> str:
    """Say what else would explain the notes, and how far behind that is."""
    named = {w.finding.id: w.finding.sentence.rstrip(".") for w in study.findings}
    what = named.get(rival.description, rival.description)
    behind = "as good" if rival.bits <= 0 else f"{number_text(rival.bits)} bits behind"
    return f"{what} ({behind})"


def facts(what: What, passage: Passage) -> tuple[Fact, ...]:
    """List what a reader needs to find the answer in the notes again."""
    match what:
        case Passes():
            return _passes_facts(what, passage)
        case Mirror():
            return _mirror_facts(what, passage)
        case Gesture():
            return _gesture_facts(what, passage)
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
        case Motive() | Pattern() | Hand() | MetreAnswer():
            return build_facts(what, passage)


def listen_for(what: What, passage: Passage, heard: Sequence[Span] = ()) -> str:
    """Name the one thing to listen for, one that is heard if there is such.

    Args:
        what: the answer that is shown.
        passage: where it was found.
        heard: the stretches that are played with it; none given means all.
    """
    match what:
        case Passes():
            return _passes_sound(what, passage, heard)
        case Mirror():
            axis = axis_text(passage, what.axis_quarters)
            return f"the turn at {axis}, and what comes back after it"
        case Gesture():
            return _gesture_sound(what, passage, heard)
        case Sonority():
            return _sonority_sound(what, passage, heard)
        case Collection():
            return _collection_sound(what, passage, heard)
        case CollectionChange():
            return f"the change of colour at {passage.place(what.at_quarters)}"
        case Drone():
            return f"string {what.string}, which rings on while the others move"
        case Anchor():
            pitch = pitch_spelled(what.pitch, _names(passage, (what.pitch,)))
            return f"the lowest string, {pitch}, and what is struck above it"
        case Motive() | Pattern() | Hand() | MetreAnswer():
            return build_sound(what, passage)


def _passes_facts(what: Passes, passage: Passage) -> tuple[Fact, ...]:
    if not what.readings:
        return ()
    best = what.readings[0]
    told = [
        ("template", span_text(passage, best.template)),
        ("passes", spans_text(passage, [one.span for one in best.passes], most=6)),
    ]
    for number, one in enumerate(best.passes, start=1):
        departures = _counted(
            f"{_EDITS[e.op]} at {passage.place(e.at_quarters)}" for e in one.edits
        )
        if one.transposition:
            departures.insert(0, f"transposed by {signed(one.transposition)}")
        if one.truncated != "none":
            departures.append(f"its {'beginning' if one.truncated == 'left' else 'end'} is missing")
        if departures:
            told.append((f"pass {number} differs", "; ".join(departures)))
    told += [(other.role, span_text(passage, other.span)) for other in best.other]
    return tuple(told)


def _counted(texts: Iterable[str]) -> list[str]:
    """Say what is the same only once, and how often."""
    return [
        text if count == 1 else f"{text} ({times(count)})" for text, count in Counter(texts).items()
    ]


def _passes_sound(what: Passes, passage: Passage, heard: Sequence[Span]) -> str:
    passes = what.readings[0].passes if what.readings else ()
    places = [edit.at_quarters for one in passes for edit in one.edits]
    if not places:
        return "how the same riff comes round again"
    return f"what changes at {passage.place(_heard(places, heard)[0])}"


def _heard(places: Sequence[Fraction], heard: Sequence[Span]) -> Sequence[Fraction]:
    """Keep the places that are heard; all if none is."""
    return [at for at in places if any(span.holds(at) for span in heard)] or places


def _mirror_facts(what: Mirror, passage: Passage) -> tuple[Fact, ...]:
    metre = passage.bar_at(what.left.start_quarters).metre
    told = [
        ("mirror of", what.of.replace("_", " ")),
        ("axis", axis_text(passage, what.axis_quarters)),
        ("left limb", span_text(passage, what.left)),
        ("right limb", span_text(passage, what.right)),
        ("exact within", length_text(what.core_quarters, metre)),
        ("reach", length_text(what.reach_quarters, metre)),
        ("lengths", f"{number_text(what.limb_ratio)} to 1, left to right"),
        ("time", f"{number_text(what.scale)} to 1, left to right"),
    ]
    if what.deviations:
        told.append(("fails at", departures_text(passage, what.deviations).partition(": ")[2]))
    for one in what.nested:
        place = one.place.replace("_", " ")
        told.append((f"within it, {place}", f"mirror of {one.of.replace('_', ' ')}, {one.finding}"))
    if what.inside:
        told.append(("lies in one limb of", what.inside))
    if what.follows_from:
        told.append(("follows from", ", ".join(what.follows_from)))
    return tuple(told)


def _gesture_facts(what: Gesture, passage: Passage) -> tuple[Fact, ...]:
    told: list[Fact] = [(limb.direction, _limb(limb, passage)) for limb in what.limbs[:4]]
    if len(what.limbs) > 4:
        told.append(("and", f"{counted(len(what.limbs) - 4, 'more limb')}"))
    if what.ratio is not None:
        told.append(("falling to rising", f"{number_text(what.ratio)} to 1 in length"))
    return tuple(told)


def _limb(limb: Limb, passage: Passage) -> str:
    slope = f"{number_text(limb.slope)} a quarter"
    return f"{span_text(passage, limb.span)}: {_semitones(limb.semitones)}, {slope}"


def _gesture_sound(what: Gesture, passage: Passage, heard: Sequence[Span]) -> str:
    if not what.limbs:
        return "the shape of the moving voice"
    starts = _heard([limb.span.start_quarters for limb in what.limbs], heard)
    limbs = [limb for limb in what.limbs if limb.span.start_quarters in starts]
    longest = max(limbs, key=lambda limb: limb.span.length_quarters)
    return f"the {longest.direction} stretch in {span_text(passage, longest.span)}"


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
    first = _heard([span.start_quarters for span in what.occurrences], heard)[0]
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
    first = _heard([at for at, _ in strays], heard)[0]
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
        told.append(("moved by", _semitones(what.transposition)))
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
                f"{_semitones(semitones)}: {times(tally.count)}, "
                f"{length_text(tally.quarters, metre)}"
                for semitones, tally in most
            ),
        ),
    )


LARGEST_DENOMINATOR: Final = 96
"""Of lengths in quarters that were stored as decimals: what a 32nd and its triplet need."""

_EDITS = {
    "substitute": "another sound",
    "insert": "one more",
    "delete": "one less",
    "shift": "another length",
}
_UNITS = {
    "semitones": "semitones",
    "bits": "bits",
    "seconds": "seconds",
    "cents": "cents",
    "db": "dB",
    "hz": "Hz",
    "mm": "mm",
}


def _measure(name: str, value: float, metre: Metre) -> Fact:
    """Part a measure's name from its unit.

    >>> four = Metre(groups=(4,), unit=4)
    >>> _measure("agreement_share", 0.25, four), _measure("reach_quarters", 6.0, four)
    (('agreement', '25 %'), ('reach', '6 quarters'))
    """
    *words, unit = name.split("_")
    if words and unit == "quarters":
        exact = Fraction(value).limit_denominator(LARGEST_DENOMINATOR)
        return " ".join(words), length_text(exact, metre)
    if words and unit == "share":
        return " ".join(words), percent(value)
    if words and unit in _UNITS:
        return " ".join(words), f"{number_text(value)} {_UNITS[unit]}"
    return name.replace("_", " "), number_text(value)


def _semitones(value: int) -> str:
    return f"{number_text(value)} semitone{'' if abs(value) == 1 else 's'}"


def _names(passage: Passage, more: Iterable[int]) -> Mapping[int, str]:
    """Spell the passage's pitch classes, and some others, so that they fit together."""
    notes = passage.notes
    return spelled([*notes.pitch[notes.is_pitched].tolist(), *more])


def _letters(pcs: Iterable[int], names: Mapping[int, str]) -> str:
    return " ".join(names[pc] for pc in pcs)
