"""Findings on the hand in words."""

from collections.abc import Sequence
from itertools import groupby

from riffract.analysis.hand.grip import ASSUMED_WEIGHTS, Place
from riffract.analysis.saying import in_digits, say
from riffract.analysis.what.hand import ExplainedFinding, Hand, MovedShape
from riffract.analysis.wording import (
    bars_text,
    capital,
    counted,
    in_bars_text,
    in_words,
    listed,
    percent,
)
from riffract.music import Passage, Span, Tuning

_PLACES_NAMED = 5
BY_PRODUCTS = {
    "transposed_repeat": ("transposed repeat", "transposed repeats"),
    "parallel_chords": ("row of parallel chords", "rows of parallel chords"),
    "inversion": ("line turned upside down", "lines turned upside down"),
    "equal_steps": ("chain of equal steps", "chains of equal steps"),
}


def hand_sentence(tuning: Tuning, answer: Hand, fretted: int, places: Sequence[int]) -> str:
    """Say which shape is moved where, and how many notes it gives.

    A shape that sounds the same pitches wherever it stands moves the hand and not the music, so it
    is not called moved: one would expect to hear it higher or lower.

    Args:
        tuning: the open strings.
        answer: the answer.
        fretted: how many fretted notes there are.
        places: at how many places each shape stands.
    """
    if not answer.shapes:
        return say("No hand shape of five strokes or more comes back elsewhere on the neck.")
    given = len({i for shape in answer.shapes for notes in shape.notes for i in notes})
    if len(answer.shapes) == 1:
        if _keeps_pitches(tuning, answer.shapes[0]):
            return _same_notes(answer.shapes[0], given, fretted)
        return say(
            "One hand shape, moved {way}, gives {given} of the {fretted} fretted notes.",
            way=_way(answer.shapes[0]),
            given=given,
            fretted=fretted,
        )
    return say(
        "{number} hand shapes, moved to {places} in all, give {given} of the {fretted} fretted "
        "notes.",
        number=capital(in_words(len(answer.shapes))),
        places=counted(sum(places), "place"),
        given=given,
        fretted=fretted,
    )


def _same_notes(shape: MovedShape, given: int, fretted: int) -> str:
    """Say that a shape sounds the same notes in some places, and where the first of them lies."""
    places = list(dict.fromkeys(_starts(shape)))
    where = listed([_place_text(place) for place in places[:_PLACES_NAMED]])
    return say(
        "One hand shape plays the same notes in {count} on the neck, from {places}{more}: {given} "
        "of the {fretted} fretted notes.",
        count=counted(len(places), "place"),
        places=where,
        more=say(", among others") if len(places) > _PLACES_NAMED else "",
        given=given,
        fretted=fretted,
    )


def _starts(shape: MovedShape) -> list[Place]:
    """Where the first note of each statement lies, by time."""
    string, fret = shape.places[0]
    return [(string, fret), *((string + s, fret + f) for s, f in shape.moves)]


def _way(shape: MovedShape) -> str:
    """Where a shape goes: `from fret 3 to 5 to 8`, or `at fret 3 from string 6 to 5`.

    Places in a row that are the same are named once.
    """
    fret = shape.places[0][1]
    told = [place for place, _ in groupby(_starts(shape))]
    more = say(" and on") if len(told) > _PLACES_NAMED else ""
    named = told[:_PLACES_NAMED]
    to = say(" to ")
    if len({s for s, _ in told}) == 1:
        return say("from fret {frets}{more}", frets=to.join(str(f) for _, f in named), more=more)
    if len({f for _, f in told}) == 1:
        return say(
            "at fret {fret} from string {strings}{more}",
            fret=fret,
            strings=to.join(str(s) for s, _ in named),
            more=more,
        )
    places = to.join(_place_text(place) for place in named)
    return say("from {places}{more}", places=places, more=more)


def _place_text(place: Place) -> str:
    return say("string {string}, fret {fret}", string=place[0], fret=place[1])


def hand_detail(passage: Passage, answer: Hand, *, is_cut: bool) -> str:
    """Tell shapes, by-products, the way of the hand and its cost as assumed, and stretches."""
    parts = [_shape_text(passage, shape) for shape in answer.shapes]
    if answer.shapes:
        parts.append(
            say(
                "Moving a shape already told gives {share} of the fretted notes.",
                share=percent(answer.explains_share),
            )
        )
    parts += _by_product_texts(passage, answer.explains)
    parts += [_cost_text(answer, is_cut=is_cut), _assumptions_text()]
    if answer.wide_stretches:
        spans = [Span(at, at) for at in answer.wide_stretches]
        parts.append(
            say(
                "Wide stretches {where}: warm up before, and rest between.",
                where=in_bars_text(passage, spans),
            )
        )
    return " ".join(parts)


def _shape_text(passage: Passage, shape: MovedShape) -> str:
    text = say(
        "Shape of {notes}, moved {way}, {where}.",
        notes=counted(len(shape.places), "note"),
        way=_way(shape),
        where=in_bars_text(passage, shape.spans),
    )
    if _keeps_pitches(passage.tuning, shape):
        return f"{text} {say(_SAME_PITCHES)}"
    return f"{text} {say(_UNEQUAL)}" if _changes_intervals(passage.tuning, shape) else text


_UNEQUAL = (
    "It crosses strings that are not tuned alike, so there its intervals differ while its look "
    "does not."
)


_SAME_PITCHES = "The pitches stay as they are."


def _changes_intervals(tuning: Tuning, shape: MovedShape) -> bool:
    """Whether a move to other strings changes the pitches' pattern."""
    return any(len(set(distances)) > 1 for distances in _distances(tuning, shape))


def _keeps_pitches(tuning: Tuning, shape: MovedShape) -> bool:
    """Whether a shape sounds the same pitches wherever it stands."""
    return not any(any(distances) for distances in _distances(tuning, shape))


def _distances(tuning: Tuning, shape: MovedShape) -> list[list[int]]:
    """How far each note of each further statement lies above the first one's, in semitones."""
    return [
        [tuning.pitch_at(s + strings, f + frets) - tuning.pitch_at(s, f) for s, f in shape.places]
        for strings, frets in shape.moves
    ]


def _by_product_texts(passage: Passage, found: Sequence[ExplainedFinding]) -> list[str]:
    texts = []
    for explained in (True, False):
        such = [one for one in found if one.explained == explained]
        named = [
            _told(passage, what, [one.span for one in such if one.what == what])
            for what in BY_PRODUCTS
            if any(one.what == what for one in such)
        ]
        if named:
            what = capital(listed(named))
            texts.append(
                say("{what} follow from moving a shape.", what=what)
                if explained
                else say("{what} do not follow from moving a shape.", what=what)
            )
    return texts


def _told(passage: Passage, what: str, spans: Sequence[Span]) -> str:
    return f"{counted(len(spans), *BY_PRODUCTS[what])} ({bars_text(passage, spans)})"


def _cost_text(answer: Hand, *, is_cut: bool) -> str:
    positions = [grip.position for grip in answer.path if grip.position is not None]
    lowest, highest = min(positions), max(positions)
    way = say("Positions {lowest} to {highest}", lowest=lowest, highest=highest)
    if lowest == highest:
        way = say("Position {number}", number=lowest)
    return say(
        "{positions}; the written places cost {written}{where}, the cheapest places for these "
        "pitches {cheapest}.",
        positions=way,
        written=f"{answer.written_cost:.0f}",
        where=say(" (of the first 4,000 attacks)") if is_cut else "",
        cheapest=f"{answer.path_cost:.0f}",
    )


def _assumptions_text() -> str:
    weights = ", ".join(
        f"{say(name)} {in_digits(f'{weight:g}')}" for name, weight in ASSUMED_WEIGHTS
    )
    return say("Costs are estimates; assumed: {weights}.", weights=weights)
