"""A sequence as a finding: its statements, its step, and both in words."""

from fractions import Fraction
from itertools import pairwise
from typing import Final

from riffract.analysis.collection_form import FORMS, display_name
from riffract.analysis.finding import Finding, Kind, Motive
from riffract.analysis.interval_name import with_article
from riffract.analysis.motive_line import MotiveLine
from riffract.analysis.motive_sequences import Chain
from riffract.analysis.pitch_class_set import mask_of
from riffract.analysis.what.motive import MotivePlace, Transform
from riffract.analysis.wording import in_words, listed, signed, times

_MOST_STARTS: Final = 8
"""Starts that are named; the others are counted, since a longer list of places is not read."""


def sequence_finding(line: MotiveLine, chain: Chain) -> Finding:
    """Tell of a sequence: the figure, how often it is played, how far it steps each time.

    Args:
        line: the line that it was found in.
        chain: the sequence.
    """
    places = [_place(line, events) for events in chain.statements]
    what = Motive(
        source=places[0],
        return_=places[1],
        transform=Transform(
            transposition=_moves(line, chain)[0],
            inversion=False,
            retrograde=False,
            scale=Fraction(1),
        ),
        inserted=(),
        dropped=(),
        changed=(),
        goes_on=tuple(places[2:]),
        scale_steps=0 if chain.is_exact else chain.steps,
        scale=() if chain.is_exact else chain.scale,
    )
    return Finding(
        kind=Kind.MOTIVE,
        spans=tuple(place.span for place in places),
        notes=tuple(i for place in places for i in place.notes),
        what=what,
        measures={
            "bits": round(chain.bits, 6),
            "notes": float(chain.figure),
            "statements": float(chain.count),
            "scale_steps": float(what.scale_steps),
        },
        sentence=_sentence(line, chain),
        detail=_detail(line, chain),
    )


def _place(line: MotiveLine, events: range) -> MotivePlace:
    return MotivePlace(
        passage=line.number,
        title=line.passage.title,
        span=line.span_of(events),
        notes=tuple(line.note_of(i) for i in events),
    )


def _moves(line: MotiveLine, chain: Chain) -> list[int]:
    """Give the semitones from the first note of each statement to that of the next."""
    firsts = [int(line.heights[events[0]]) for events in chain.statements]
    return [after - before for before, after in pairwise(firsts)]


def _sentence(line: MotiveLine, chain: Chain) -> str:
    start = _start(line, chain.statements[0])
    count = times(chain.count)
    return f"The figure at {start} is played {count} in a row, each time {how_far(chain)}."


def how_far(chain: Chain) -> str:
    """Say how far each statement of a sequence stands from the one before: `a whole tone lower`."""
    way = "higher" if chain.steps > 0 else "lower"
    if chain.is_exact:
        return f"{with_article(chain.steps)} {way}"
    steps = abs(chain.steps)
    count = "a step" if steps == 1 else f"{in_words(steps)} steps"
    return f"{count} of the scale {way}"


def _detail(line: MotiveLine, chain: Chain) -> str:
    starts = [_start(line, events) for events in chain.statements[:_MOST_STARTS]]
    more = chain.count - len(starts)
    where = listed([*starts, f"{more} more"] if more else starts)
    moves = ", ".join(signed(n) for n in _moves(line, chain))
    kind = "Real sequence, the same interval each time" if chain.is_exact else _tonal(chain)
    return (
        f"{kind}: {times(chain.count)} {in_words(chain.figure)} notes, {chain.bits:.1f} bits. "
        f"Statements at {where}; first notes {moves} semitones."
    )


def _tonal(chain: Chain) -> str:
    named = [form.name for form in FORMS if form.mask == mask_of(chain.scale)]
    scale = f"{{{', '.join(map(str, chain.scale))}}}"
    name = f"{display_name(named[0])} = {scale}" if named else scale
    return f"Sequence by {signed(chain.steps)} in scale steps of {name}, exact in them"


def _start(line: MotiveLine, events: range) -> str:
    onset = line.passage.notes[line.note_of(events[0])].onset_quarters
    return str(line.passage.place(onset))
