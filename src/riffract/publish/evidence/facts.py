"""What speaks for a finding, in words: its facts, its numbers, its verdict, its method."""

from collections import Counter
from collections.abc import Mapping, Sequence
from fractions import Fraction
from typing import Final

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
from riffract.analysis.mirrors.departures import departures_text
from riffract.analysis.mirrors.turn import turn_of
from riffract.analysis.saying import say, say_count
from riffract.analysis.spelling import names_in
from riffract.analysis.wording import (
    counted,
    heard_length_text,
    in_words,
    length_text,
    percent,
    signed,
    times,
)
from riffract.music import Metre, Passage, Span
from riffract.publish.evidence.of_build import build_facts, build_sound
from riffract.publish.evidence.of_harmony import harmony_facts, harmony_sound
from riffract.publish.wording import (
    Fact,
    heard_places,
    missing_part,
    number_text,
    place_text,
    probability_text,
    semitones_text,
    span_text,
    spans_text,
)
from riffract.weighing.chance import Chance
from riffract.weighing.study import Rival, Study, Verdict, WeighedFinding

VERDICT_MEANINGS: Final[Mapping[Verdict, str]] = {
    Verdict.FIRM: "Among findings as strong as this, at most 1 in 100 is expected to be chance; "
    "no other reading comes near, and no single note carries it.",
    Verdict.LIKELY: "Among findings as strong as this, at most 1 in 20 is expected to be chance.",
    Verdict.SUGGESTIVE: "Rare by chance when looked at alone, but much else was looked at too.",
    Verdict.NOT_BEYOND_CHANCE: "Random versions of the riff do as well too often.",
    Verdict.TRIVIAL: "It could not have come out otherwise.",
}

VERDICT_STRENGTHS: Final[Mapping[Verdict, int]] = {
    Verdict.FIRM: 4,
    Verdict.LIKELY: 3,
    Verdict.SUGGESTIVE: 2,
    Verdict.NOT_BEYOND_CHANCE: 1,
    Verdict.TRIVIAL: 0,
}
"""How many of four dots are filled beside a verdict."""

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
            effect = number_text(chance.effect)
            facts.append(("effect", say("{number} standard deviations", number=effect)))
        facts.append(("chance", _null_model(chance)))
    if weighed.log10_bayes is not None:
        power = number_text(weighed.log10_bayes)
        facts.append(("Bayes factor", say("10 to the power of {number}", number=power)))
    return tuple(facts)


def fragility_facts(weighed: WeighedFinding, passage: Passage) -> tuple[Fact, ...]:
    """Say whether a finding stands without any one of its notes; nothing if it does not stand."""
    if weighed.survives is None:
        return ()
    if weighed.survives:
        return (("note by note", say("stands without any one of its notes")),)
    if weighed.carried_by is None:
        return (("note by note", say("would not be likely without one of its notes")),)
    at = place_text(passage, passage.notes[weighed.carried_by].onset_quarters)
    return (("note by note", say("rests on the note at {place}", place=at)),)


def _null_model(chance: Chance) -> str:
    if not chance.draws:
        return say("computed exactly: {model}", model=chance.model)
    return say(
        "{number} random versions: {model}; seed {seed}",
        number=len(chance.draws),
        model=chance.model,
        seed=chance.seed,
    )


def measure_facts(weighed: WeighedFinding, passage: Passage) -> tuple[Fact, ...]:
    """List the finding's own measures, units from their names, lengths as the metre counts."""
    spans = weighed.finding.spans
    metre = passage.bar_at(spans[0].start_quarters if spans else Fraction(0)).metre
    return tuple(_measure(name, value, metre) for name, value in weighed.finding.measures.items())


def rival_text(rival: Rival, study: Study) -> str:
    """Say what else would explain the notes, and how far behind that is."""
    named = {w.finding.id: w.finding.sentence.rstrip(".") for w in study.findings}
    what = named.get(rival.description, rival.description)
    behind = say("{bits} bits behind", bits=number_text(rival.bits))
    if rival.bits <= 0:
        behind = say("as good")
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
        case Sonority() | Collection() | CollectionChange() | Drone() | Anchor():
            return harmony_facts(what, passage)
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
            turn = turn_of(passage, what).place
            return say("the turn {turn}, and what comes back after it", turn=turn)
        case Gesture():
            return _gesture_sound(what, passage, heard)
        case Sonority() | Collection() | CollectionChange() | Drone() | Anchor():
            return harmony_sound(what, passage, heard)
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
        places = Counter((edit.op, edit.at_quarters) for edit in one.edits)
        departures = [
            _edits_text(op, place_text(passage, at), count) for (op, at), count in places.items()
        ]
        if one.transposition:
            moved = say("transposed by {semitones}", semitones=signed(one.transposition))
            departures.insert(0, moved)
        departures += filter(None, [missing_part(one)])
        if departures:
            told.append((say("pass {number} differs", number=number), "; ".join(departures)))
    told += [(other.role, span_text(passage, other.span)) for other in best.other]
    return tuple(told)


def _edits_text(op: str, place: str, count: int) -> str:
    """Say what differs at a place, and how often if it does more than once."""
    many = {"many": in_words(count), "place": place}
    if op == "insert":
        return say_count(count, "one more at {place}", "{many} more at {place}", **many)
    if op == "delete":
        return say_count(count, "one fewer at {place}", "{many} fewer at {place}", **many)
    text = say(_EDITS[op], place=place)
    return text if count == 1 else f"{text} ({times(count)})"


def _passes_sound(what: Passes, passage: Passage, heard: Sequence[Span]) -> str:
    passes = what.readings[0].passes if what.readings else ()
    places = [edit.at_quarters for one in passes for edit in one.edits]
    if not places:
        return say("how the same riff comes round again")
    place = place_text(passage, heard_places(places, heard)[0])
    return say("what changes at {place}", place=place)


def _mirror_facts(what: Mirror, passage: Passage) -> tuple[Fact, ...]:
    metre = passage.bar_at(what.left.start_quarters).metre
    turn = turn_of(passage, what)
    told = [
        ("mirror of", say(what.of.replace("_", " "))),
        ("axis", turn.place),
        ("left limb", span_text(passage, turn.left)),
        ("right limb", span_text(passage, turn.right)),
        (
            "exact within",
            heard_length_text(turn.reach_quarters(what.core_quarters), metre),
        ),
        ("reach", heard_length_text(turn.reach_quarters(what.reach_quarters), metre)),
        ("lengths", say("{ratio} to 1, left to right", ratio=number_text(what.limb_ratio))),
        ("time", say("{ratio} to 1, left to right", ratio=number_text(what.scale))),
    ]
    if what.deviations:
        departures = departures_text(passage, what.deviations, names_in(passage))
        told.append(("fails at", departures.partition(": ")[2]))
    for one in what.nested:
        name = say("within it, {place}", place=say(one.place.replace("_", " ")))
        of = say(one.of.replace("_", " "))
        told.append((name, say("mirror of {name}, {finding}", name=of, finding=one.finding)))
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
        length = say("{ratio} to 1 in length", ratio=number_text(what.ratio))
        told.append(("falling to rising", length))
    return tuple(told)


def _limb(limb: Limb, passage: Passage) -> str:
    slope = say("{number} a quarter", number=number_text(limb.slope))
    return f"{span_text(passage, limb.span)}: {semitones_text(limb.semitones)}, {slope}"


def _gesture_sound(what: Gesture, passage: Passage, heard: Sequence[Span]) -> str:
    if not what.limbs:
        return say("the shape of the moving voice")
    starts = heard_places([limb.span.start_quarters for limb in what.limbs], heard)
    limbs = [limb for limb in what.limbs if limb.span.start_quarters in starts]
    longest = max(limbs, key=lambda limb: limb.span.length_quarters)
    return say(_STRETCHES[longest.direction], place=span_text(passage, longest.span))


AHEAD_OF: Final = "bits_ahead_of_"

LARGEST_DENOMINATOR: Final = 96
"""Of lengths in quarters that were stored as decimals: what a 32nd and its triplet need."""

_STRETCHES = {
    "rising": "the rising stretch in {place}",
    "falling": "the falling stretch in {place}",
    "level": "the level stretch in {place}",
    "turning": "the turning stretch in {place}",
}
_EDITS = {
    "substitute": "another sound at {place}",
    "shift": "another length at {place}",
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
    >>> _measure("share", 0.531, four)
    ('share', '53 %')
    """
    if name.startswith(AHEAD_OF):
        form = name.removeprefix(AHEAD_OF)
        return say("bits ahead of {form}", form=form), number_text(value)
    *words, unit = name.split("_")
    if words and unit == "quarters":
        exact = Fraction(value).limit_denominator(LARGEST_DENOMINATOR)
        return " ".join(words), length_text(exact, metre)
    if unit == "share":
        return " ".join(words) or unit, percent(value)
    if words and unit in _UNITS:
        return " ".join(words), f"{number_text(value)} {say(_UNITS[unit])}"
    return name.replace("_", " "), number_text(value)
