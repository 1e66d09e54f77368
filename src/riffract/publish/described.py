"""Descriptions: what is seen and heard in each shot, in words, to be read aloud by a machine.

A track of the kind that HTML calls `descriptions`: it stands for the picture where that cannot be
seen, and is spoken, so limits of reading do not apply. A shot is one description.

Source: HTML Standard, 4.8.11.11 (text tracks): "descriptions … intended for audio synthesis when
the visual component is unavailable".
"""

from collections.abc import Iterator, Sequence
from itertools import accumulate

from riffract.analysis.saying import say
from riffract.essay.shots import Shot
from riffract.music import Passage
from riffract.publish.captions import Cue
from riffract.publish.wording import play_text

_ENDS = "?!…"
"""What ends a sentence as a full stop does."""


def descriptions(shots: Sequence[Shot], seen: Sequence[str], passage: Passage) -> tuple[Cue, ...]:
    """Describe a film, a cue a shot.

    Args:
        shots: in order.
        seen: the picture of each shot in words.
        passage: what is played.
    """
    ends = list(accumulate(shot.length_seconds for shot in shots))
    starts = [0.0, *ends]
    return tuple(
        Cue(
            start_ms=round(start * 1000),
            end_ms=round(end * 1000),
            rows=(" ".join(_told(shot, picture, passage)),),
        )
        for shot, picture, start, end in zip(shots, seen, starts, ends, strict=False)
        if shot.length_seconds > 0
    )


def _told(shot: Shot, picture: str, passage: Passage) -> Iterator[str]:
    title, seen = (" ".join(text.split()) for text in (shot.title.rstrip("."), picture))
    if title not in seen:  # nothing is read aloud twice
        yield title if title[-1:] in _ENDS else f"{title}."
    yield seen
    heard = dict.fromkeys(play_text(passage, play) for play in shot.plays)
    if heard:
        yield say("Heard: {what}.", what="; ".join(heard))
