"""What is played with a claim: whole bars, and not too many of them."""

from collections.abc import Sequence
from fractions import Fraction
from typing import Final

from riffract.essay.claims import Excerpt
from riffract.music import Passage, Span, TimeMap

LONGEST_SECONDS: Final = 12.0
EITHER_SIDE_SECONDS: Final = 8.0


def excerpt(
    passage: Passage,
    span: Span,
    *,
    speed: float = 1.0,
    longest_seconds: float = LONGEST_SECONDS,
) -> Excerpt:
    """Widen a span to whole bars, and keep as many of them as the time allows; at least one."""
    time_map = TimeMap.from_tempos(passage.tempos, passage.length_quarters)
    first = passage.bar_at(span.start_quarters)
    bars = [b for b in passage.bars[first.number - 1 :] if b.start_quarters < span.end_quarters]
    start = time_map.seconds_at(first.start_quarters)
    kept = [
        bar
        for bar in bars
        if (time_map.seconds_at(bar.span.end_quarters) - start) / speed <= longest_seconds
    ]
    last = kept[-1] if kept else first
    return Excerpt(span=Span(first.start_quarters, last.span.end_quarters), speed=speed)


def excerpt_with(passage: Passage, span: Span, at_quarters: Fraction) -> Excerpt:
    """Play a span from its start if a moment in it is heard then; else from as late as it takes."""
    time_map = TimeMap.from_tempos(passage.tempos, passage.length_quarters)
    bars = [bar for bar in passage.bars if bar.span.overlap_quarters(span)]
    wanted = [bar for bar in bars if bar.start_quarters <= at_quarters] or bars[:1]
    end = time_map.seconds_at(wanted[-1].span.end_quarters)
    starts = [
        bar.start_quarters
        for bar in wanted
        if end - time_map.seconds_at(bar.start_quarters) <= LONGEST_SECONDS
    ]
    start = starts[0] if starts else wanted[-1].start_quarters
    return excerpt(passage, Span(start, span.end_quarters))


def in_one_go(passage: Passage, spans: Sequence[Span]) -> tuple[Excerpt, ...]:
    """Play spans in order of time; those whose bars meet or overlap as one excerpt."""
    joined: list[Span] = []
    for one in sorted(excerpt(passage, span).span for span in spans):
        if joined and one.start_quarters <= joined[-1].end_quarters:
            end = max(one.end_quarters, joined[-1].end_quarters)
            joined[-1] = Span(joined[-1].start_quarters, end)
        else:
            joined.append(one)
    return tuple(Excerpt(span=span) for span in joined)


def around(passage: Passage, at_quarters: Fraction) -> Excerpt:
    """Play the bars around a moment: as many on either side as the time allows; at least one."""
    time_map = TimeMap.from_tempos(passage.tempos, passage.length_quarters)
    at_seconds = time_map.seconds_at(at_quarters)
    here = passage.bar_at(at_quarters)
    near = [
        bar.span
        for bar in passage.bars
        if bar is here
        or (
            at_seconds - time_map.seconds_at(bar.start_quarters) <= EITHER_SIDE_SECONDS
            and time_map.seconds_at(bar.span.end_quarters) - at_seconds <= EITHER_SIDE_SECONDS
        )
    ]
    start = near[0].start_quarters
    if start == at_quarters and here.number > 1:
        start = passage.bars[here.number - 2].start_quarters
    return Excerpt(span=Span(start, near[-1].end_quarters))
