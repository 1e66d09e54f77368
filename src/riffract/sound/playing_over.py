"""A rendering played over and over: what rings at the end of a pass rings on into the next."""

from collections.abc import Callable
from dataclasses import replace
from fractions import Fraction

import numpy as np

from riffract.music import NoteTable, NoteTableBuilder, Passage, Span, TimeMap
from riffract.sound.amp import Tone
from riffract.sound.loop import looped, pass_of
from riffract.sound.render import FADE_OUT_SECONDS, render
from riffract.sound.sound import RATE_HZ, Sound


def render_loop(
    passage: Passage,
    time_map: TimeMap,
    *,
    span: Span,
    times: int,
    strings: frozenset[int] | None = None,
    tone: Tone = Tone.DRIVEN,
    speed: float = 1.0,
    seed: int = 1,
    rate_hz: int = RATE_HZ,
    progress: Callable[[float], None] | None = None,
) -> Sound:
    """Play a stretch over and over, as a hand does that does not stop in between.

    The first pass begins from rest. Into every other one rings what the one before left ringing,
    until its string is struck anew; graces that lead to the start are played at the end of the pass
    before. Only two passes are made, whatever `times` is: all but the first are alike.

    Args:
        passage: what is played.
        time_map: when.
        span: the stretch.
        times: how often it is played.
        strings: those that are heard, 1 the highest; `None` for all.
        tone: how much the amplifier is driven.
        speed: of playing, 0.1 to 4.
        seed: of the small differences between strokes.
        rate_hz: samples a second.
        progress: told the share that is done.

    Returns:
        Exactly `times` passes, each as long as `render` makes the stretch, with short fades at the
        very ends.

    Raises:
        ValueError: if `times` is less than 1, or as `render` does.
    """
    if times == 1:
        return render(
            passage, time_map, span=span, strings=strings, tone=tone, speed=speed, seed=seed,
            rate_hz=rate_hz, progress=progress,
        )  # fmt: skip
    seconds = time_map.seconds_at(span.end_quarters) - time_map.seconds_at(span.start_quarters)
    period = round(seconds / speed * rate_hz)
    over, times_over = played_over(passage, time_map, span, pass_seconds=period * speed / rate_hz)
    two = render(
        over,
        times_over,
        span=Span(Fraction(0), _a_little_after(times_over, 2 * span.length_quarters, speed)),
        strings=strings,
        tone=tone,
        speed=speed,
        seed=seed,
        rate_hz=rate_hz,
        progress=progress,
    )
    first = Sound(samples=np.ascontiguousarray(two.samples[:, :period]), rate_hz=rate_hz)
    return looped(pass_of(two, period, period), times, first=first)


def played_over(
    passage: Passage, time_map: TimeMap, span: Span, *, pass_seconds: float
) -> tuple[Passage, TimeMap]:
    """Write a stretch out three times in a row, from 0, with the times of all three.

    The third pass is there for what leads into it. Notes ring as long as they do in the passage,
    also beyond the end of a pass.

    Args:
        passage: what is played; its bars and marks are left as they are.
        time_map: when.
        span: the stretch.
        pass_seconds: how long each pass is to last; all its times are scaled to it.
    """
    starts = [number * span.length_quarters for number in range(3)]
    graces = [grace for grace in passage.graces if span.holds(grace.at_quarters)]
    over = replace(
        passage,
        notes=_notes(passage.notes, span, starts),
        graces=tuple(
            replace(grace, at_quarters=grace.at_quarters - span.start_quarters + start)
            for start in starts
            for grace in graces
        ),
    )
    return over, _times(time_map, span, starts, pass_seconds)


def _notes(notes: NoteTable, span: Span, starts: list[Fraction]) -> NoteTable:
    played = [note for note in notes if span.holds(note.onset_quarters)]
    builder = NoteTableBuilder()
    for start in starts:
        moved = start - span.start_quarters
        for note in played:
            builder.add(
                onset_quarters=note.onset_quarters + moved,
                duration_quarters=note.duration_quarters,
                string=note.string,
                fret=note.fret,
                pitch=note.pitch,
                ring_end_quarters=note.ring_end_quarters + moved,
                techniques=note.techniques,
                bend=note.bend,
                other_fret=note.other_fret,
                tremolo_marks=note.tremolo_marks,
                line=note.line,
                column=note.column,
            )
    return builder.build()


def _a_little_after(time_map: TimeMap, quarters: Fraction, speed: float) -> Fraction:
    """Give a moment far enough after another that a rendering up to it does not fade out before."""
    seconds = time_map.seconds_at(quarters) + 2 * FADE_OUT_SECONDS * speed
    return max(quarters, Fraction(time_map.quarters_at(seconds)))


def _times(time_map: TimeMap, span: Span, starts: list[Fraction], pass_seconds: float) -> TimeMap:
    began, ended = time_map.seconds_at(span.start_quarters), time_map.seconds_at(span.end_quarters)
    scale = pass_seconds / (ended - began)
    inside = [q for q in time_map.quarters if span.start_quarters < q < span.end_quarters]
    quarters, seconds = [Fraction(0)], [0.0]
    for number, start in enumerate(starts):
        for knot in inside:
            quarters.append(start + knot - span.start_quarters)
            seconds.append(number * pass_seconds + (time_map.seconds_at(knot) - began) * scale)
        quarters.append(start + span.length_quarters)
        seconds.append((number + 1) * pass_seconds)
    return TimeMap(quarters=tuple(quarters), seconds=tuple(seconds))
