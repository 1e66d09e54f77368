"""A sequence as a finding: its statements, its step, and both in words."""

from fractions import Fraction
from itertools import pairwise
from typing import Final

from riffract.analysis.collections.form import FORMS, display_name
from riffract.analysis.finding import Finding, Kind, Motive
from riffract.analysis.interval_name import moved_in_words
from riffract.analysis.motives.line import MotiveLine
from riffract.analysis.motives.sequences import Chain
from riffract.analysis.pitch_class_set import mask_of
from riffract.analysis.saying import in_digits, say, say_count
from riffract.analysis.what.motive import MotivePlace, Transform
from riffract.analysis.wording import in_words, listed, place_in_words, signed, times

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
    return say(
        "{figure} is played {times} in a row, each time {how_far}.",
        figure=say("The figure at {place}", place=_start(line, chain.statements[0])),
        times=times(chain.count),
        how_far=how_far(chain),
    )


def how_far(chain: Chain) -> str:
    """Say how far each statement of a sequence stands from the one before: `a whole tone lower`."""
    if chain.is_exact:
        return moved_in_words(chain.steps)
    steps = abs(chain.steps)
    if chain.steps > 0:
        return say_count(
            steps,
            "a step of the scale higher",
            "{number} steps of the scale higher",
            number=in_words(steps),
        )
    return say_count(
        steps,
        "a step of the scale lower",
        "{number} steps of the scale lower",
        number=in_words(steps),
    )


def _detail(line: MotiveLine, chain: Chain) -> str:
    starts = [_start(line, events) for events in chain.statements[:_MOST_STARTS]]
    more = chain.count - len(starts)
    where = listed([*starts, say("{count} more", count=more)] if more else starts)
    return say(
        "{kind}: {times} {number} notes, {bits} bits. Statements at {where}; first notes {moves} "
        "semitones.",
        kind=(
            say("Real sequence, the same interval each time") if chain.is_exact else _tonal(chain)
        ),
        times=times(chain.count),
        number=in_words(chain.figure),
        bits=in_digits(f"{chain.bits:.1f}"),
        where=where,
        moves=", ".join(signed(n) for n in _moves(line, chain)),
    )


def _tonal(chain: Chain) -> str:
    named = [form.name for form in FORMS if form.mask == mask_of(chain.scale)]
    scale = f"{{{', '.join(map(str, chain.scale))}}}"
    name = f"{display_name(named[0])} = {scale}" if named else scale
    return say(
        "Sequence by {steps} in scale steps of {scale}, exact in them",
        steps=signed(chain.steps),
        scale=name,
    )


def _start(line: MotiveLine, events: range) -> str:
    onset = line.passage.notes[line.note_of(events[0])].onset_quarters
    return place_in_words(line.passage.place(onset))
