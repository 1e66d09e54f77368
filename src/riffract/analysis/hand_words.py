"""Findings on the hand in words."""

from collections.abc import Sequence
from itertools import groupby

from riffract.analysis.hand_grip import ASSUMED_WEIGHTS, Place
from riffract.analysis.what.hand import ExplainedFinding, Hand, MovedShape
from riffract.analysis.wording import bars_text, counted, in_words, listed, percent
from riffract.music import Passage, Span, Tuning

_PLACES_NAMED = 5
_BY_PRODUCTS = {
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
        return "No hand shape of five strokes or more comes back elsewhere on the neck."
    given = len({i for shape in answer.shapes for notes in shape.notes for i in notes})
    if len(answer.shapes) == 1:
        if _keeps_pitches(tuning, answer.shapes[0]):
            return _same_notes(answer.shapes[0], given, fretted)
        return (
            f"One hand shape, moved {_way(answer.shapes[0])}, gives {given} of the "
            f"{fretted} fretted notes."
        )
    count = in_words(len(answer.shapes))
    return (
        f"{count[0].upper()}{count[1:]} hand shapes, moved to {counted(sum(places), 'place')} in "
        f"all, give {given} of the {fretted} fretted notes."
    )


def _same_notes(shape: MovedShape, given: int, fretted: int) -> str:
    """Say that a shape sounds the same notes in some places, and where the first of them lies."""
    places = list(dict.fromkeys(_starts(shape)))
    where = listed([_place_text(place) for place in places[:_PLACES_NAMED]])
    more = ", among others" if len(places) > _PLACES_NAMED else ""
    return (
        f"One hand shape plays the same notes in {counted(len(places), 'place')} on the neck, from "
        f"{where}{more}: {given} of the {fretted} fretted notes."
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
    more = " and on" if len(told) > _PLACES_NAMED else ""
    named = told[:_PLACES_NAMED]
    if len({s for s, _ in told}) == 1:
        return f"from fret {' to '.join(str(f) for _, f in named)}{more}"
    if len({f for _, f in told}) == 1:
        return f"at fret {fret} from string {' to '.join(str(s) for s, _ in named)}{more}"
    return f"from {' to '.join(_place_text(place) for place in named)}{more}"


def _place_text(place: Place) -> str:
    return f"string {place[0]}, fret {place[1]}"


def hand_detail(passage: Passage, answer: Hand, *, is_cut: bool) -> str:
    """Tell shapes, by-products, the way of the hand and its cost as assumed, and stretches."""
    parts = [_shape_text(passage, shape) for shape in answer.shapes]
    if answer.shapes:
        parts.append(
            f"Moving a shape already told gives {percent(answer.explains_share)} of the fretted "
            "notes."
        )
    parts += _by_product_texts(passage, answer.explains)
    parts += [_cost_text(answer, is_cut=is_cut), _assumptions_text()]
    if answer.wide_stretches:
        spans = [Span(at, at) for at in answer.wide_stretches]
        parts.append(
            f"Wide stretches in {bars_text(passage, spans)}: warm up before, and rest between."
        )
    return " ".join(parts)


def _shape_text(passage: Passage, shape: MovedShape) -> str:
    bars = bars_text(passage, shape.spans)
    text = f"Shape of {counted(len(shape.places), 'note')}, moved {_way(shape)}, in {bars}."
    if _keeps_pitches(passage.tuning, shape):
        return f"{text} {_SAME_PITCHES}"
    return f"{text} {_UNEQUAL}" if _changes_intervals(passage.tuning, shape) else text


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
    for explained, verb in ((True, "follow"), (False, "do not follow")):
        named = [
            _told(passage, what, [one.span for one in found if _is(one, what, explained)])
            for what in _BY_PRODUCTS
            if any(_is(one, what, explained) for one in found)
        ]
        if named:
            text = f"{listed(named)} {verb} from moving a shape."
            texts.append(f"{text[0].upper()}{text[1:]}")
    return texts


def _is(one: ExplainedFinding, what: str, explained: bool) -> bool:  # noqa: FBT001  # as in the record
    return one.what == what and one.explained == explained


def _told(passage: Passage, what: str, spans: Sequence[Span]) -> str:
    return f"{counted(len(spans), *_BY_PRODUCTS[what])} ({bars_text(passage, spans)})"


def _cost_text(answer: Hand, *, is_cut: bool) -> str:
    positions = [grip.position for grip in answer.path if grip.position is not None]
    way = f"Positions {min(positions)} to {max(positions)}"
    if min(positions) == max(positions):
        way = f"Position {min(positions)}"
    where = " (of the first 4,000 attacks)" if is_cut else ""
    costs = f"the written places cost {answer.written_cost:.0f}{where}"
    return f"{way}; {costs}, the cheapest places for these pitches {answer.path_cost:.0f}."


def _assumptions_text() -> str:
    weights = ", ".join(f"{name} {weight:g}" for name, weight in ASSUMED_WEIGHTS)
    return f"Costs are estimates; assumed: {weights}."
