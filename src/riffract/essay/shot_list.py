"""From claims to shots: how long each lasts, and when its words and its music come.

Words without a voice are read, so each line stays for as long as reading it takes. The first line
says what to listen for and comes with the first excerpt; the others follow it. Where somebody
speaks, the lines follow the take.

Sources: 160 words a minute, the slower end of a public broadcaster's subtitle rate as quoted by
captioning guides; at most 17 characters a second (common practice).
"""

from collections.abc import Mapping, Sequence
from dataclasses import replace
from itertools import pairwise
from math import ceil
from types import MappingProxyType
from typing import Final

from riffract.analysis.saying import say
from riffract.essay.claims import Claim
from riffract.essay.shots import Doubt, Line, Play, SceneName, Shot, Voice
from riffract.music import TimeMap

WORDS_A_MINUTE: Final = 160.0
MOST_CHARACTERS_A_SECOND: Final = 17.0
MOST_CHARACTERS_A_ROW: Final = 42
ROW_PAUSE_SECONDS: Final = 0.1
"""For each row of a caption, since captions leave a gap between them, in which nothing is read."""

SHORTEST_LINE_SECONDS: Final = 1.5

LEAD_IN_SECONDS: Final = 0.8
GAP_SECONDS: Final = 0.5
LEAD_OUT_SECONDS: Final = 1.0
VOICE_AT_SECONDS: Final = 0.4
TITLE_SECONDS: Final = 4.0
CREDITS_SECONDS: Final = 5.0

SAFE_LISTENING: Final = "Listen at a moderate level, above all on headphones."


def reading_seconds(text: str) -> float:
    """Tell how long a line has to stand.

    >>> reading_seconds("Listen to the string that rings on.")
    2.625
    """
    by_words = len(text.split()) * 60.0 / WORDS_A_MINUTE
    pauses = ceil(len(text) / MOST_CHARACTERS_A_ROW) * ROW_PAUSE_SECONDS
    return max(by_words, len(text) / MOST_CHARACTERS_A_SECOND + pauses, SHORTEST_LINE_SECONDS)


def shot_list(
    claims: Sequence[Claim],
    time_map: TimeMap,
    *,
    title: str,
    subtitle: str,
    credits_lines: Sequence[str],
    rights: str,
    take_seconds: Mapping[str, float] = MappingProxyType({}),
    doubts: tuple[Doubt, ...] = (),
) -> tuple[Shot, ...]:
    """Lay out the film: a title, a shot for each claim, credits.

    Args:
        claims: in order.
        time_map: of the passage.
        title: of the film.
        subtitle: of the film; may be empty.
        credits_lines: who made what.
        rights: whose it is.
        take_seconds: how long each take lasts, by its name; a claim whose take is not here is read.
        doubts: notes that the recording does not bear out.
    """
    shown = [
        _spoken_shot(number, claim, time_map, take_seconds[claim.take])
        if claim.take in take_seconds
        else _claim_shot(number, claim, time_map)
        for number, claim in enumerate(claims, start=1)
    ]
    return (
        Shot(
            name="00-title",
            scene=SceneName.TITLE,
            title=title,
            lines=(),
            plays=(),
            length_seconds=TITLE_SECONDS,
            details=(subtitle,) if subtitle else (),
        ),
        *(replace(shot, doubts=doubts) for shot in shown),
        Shot(
            name=f"{len(claims) + 1:02d}-credits",
            scene=SceneName.CREDITS,
            title=title,
            lines=(),
            plays=(),
            length_seconds=CREDITS_SECONDS,
            details=tuple(line for line in (*credits_lines, rights, say(SAFE_LISTENING)) if line),
        ),
    )


def _claim_shot(number: int, claim: Claim, time_map: TimeMap) -> Shot:
    plays = _plays(claim, time_map)
    music_ends = max(
        (play.at_seconds + play.length_seconds for play in plays), default=LEAD_IN_SECONDS
    )
    first_ends = plays[0].at_seconds + plays[0].length_seconds if plays else 0.0
    lines = _lines(claim.lines, first_ends, music_ends)
    words_end = lines[-1].start_seconds + reading_seconds(lines[-1].text) if lines else 0.0
    length = max(music_ends, words_end) + LEAD_OUT_SECONDS
    if lines:
        last = lines[-1]
        lines = (
            *lines[:-1],
            Line(text=last.text, start_seconds=last.start_seconds, end_seconds=length),
        )
    return Shot(
        name=f"{number:02d}-{claim.scene}",
        scene=claim.scene,
        title=claim.title,
        lines=lines,
        plays=plays,
        length_seconds=round(length, 3),
        findings=() if claim.finding is None else (claim.finding,),
        with_profile=claim.profile,
    )


def _spoken_shot(number: int, claim: Claim, time_map: TimeMap, take_seconds: float) -> Shot:
    """Let a shot last as long as its voice and its music; words come when they are spoken."""
    read = _claim_shot(number, claim, time_map)
    voice = Voice(take=claim.take, at_seconds=VOICE_AT_SECONDS, length_seconds=take_seconds)
    music_ends = max((play.at_seconds + play.length_seconds for play in read.plays), default=0.0)
    length = max(music_ends, VOICE_AT_SECONDS + take_seconds) + LEAD_OUT_SECONDS
    return replace(
        read,
        lines=_spoken_lines(claim, take_seconds),
        length_seconds=round(length, 3),
        voice=voice,
    )


def _spoken_lines(claim: Claim, take_seconds: float) -> tuple[Line, ...]:
    """Share a take out by the length of its lines, unless it is said when each comes."""
    texts = claim.lines
    if not texts:
        return ()
    if len(claim.line_starts) == len(texts):
        starts = sorted(min(start, take_seconds) for start in claim.line_starts)
    else:
        spoken = [max(len(text), 1) for text in texts]
        starts = [take_seconds * sum(spoken[:i]) / sum(spoken) for i in range(len(texts))]
    bounds = [VOICE_AT_SECONDS + start for start in (*starts, take_seconds)]
    return tuple(
        Line(text=text, start_seconds=round(start, 3), end_seconds=round(max(end, start), 3))
        for text, (start, end) in zip(texts, pairwise(bounds), strict=True)
    )


def _plays(claim: Claim, time_map: TimeMap) -> tuple[Play, ...]:
    plays: list[Play] = []
    now = LEAD_IN_SECONDS
    for excerpt in claim.excerpts:
        for _ in range(excerpt.times):
            play = Play(
                at_seconds=round(now, 3),
                span=excerpt.span,
                speed=excerpt.speed,
                time_map=time_map,
                strings=excerpt.strings,
            )
            plays.append(play)
            now = play.at_seconds + play.length_seconds
        now += GAP_SECONDS
    return tuple(plays)


def _lines(texts: Sequence[str], first_ends: float, music_ends: float) -> tuple[Line, ...]:
    """Give the first line the first excerpt, and spread the others over what follows."""
    if not texts:
        return ()
    starts = [LEAD_IN_SECONDS / 2]
    after_first = max(starts[0] + reading_seconds(texts[0]), first_ends)
    needed = [reading_seconds(text) for text in texts[1:]]
    spare = max(music_ends - after_first - sum(needed), 0.0) / max(len(needed), 1)
    if sum(needed) > music_ends - starts[0] - reading_seconds(texts[0]):
        # Not enough music to wait for the first excerpt's end: let the words run on.
        after_first = starts[0] + reading_seconds(texts[0])
    now = after_first
    for seconds in needed:
        starts.append(now)
        now += seconds + spare
    ends = [*starts[1:], now]
    return tuple(
        Line(text=text, start_seconds=round(start, 3), end_seconds=round(end, 3))
        for text, start, end in zip(texts, starts, ends, strict=True)
    )
