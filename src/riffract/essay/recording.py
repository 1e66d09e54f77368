"""The recording of an essay: where it is, what is fixed in it by ear, and when the score sounds."""

from collections.abc import Sequence
from fractions import Fraction
from itertools import pairwise
from pathlib import Path

from riffract.essay import hearing as kept
from riffract.essay.hearing import ALIGNMENT_FILE, Hearing
from riffract.essay.settings import Anchor as AnchorSetting
from riffract.essay.settings import Recording
from riffract.formats.problem import Problem
from riffract.music import Passage, TimeMap
from riffract.sound.alignment import Anchor


def recording_problems(
    recording: Recording, path: Path, passage: Passage | None
) -> tuple[Problem, ...]:
    """Say what is wrong with what `essay.toml` says of a recording."""
    problems = []
    if not path.is_file():
        problems.append(
            Problem(
                what=f"the recording {recording.file} is not in the folder",
                mend="copy it there, or take the part [recording] out",
                place="recording.file",
            )
        )
    if passage is not None:
        problems += _anchor_problems(recording.anchors, passage)
    return tuple(problems)


def anchors_of(recording: Recording, passage: Passage) -> tuple[Anchor, ...]:
    """Give the moments that the analyst has fixed, in order of time."""
    return tuple(
        Anchor(quarters=_quarters_of(a, passage), seconds=a.seconds) for a in recording.anchors
    )


def hearing_of(
    folder: Path, recording: Recording, passage: Passage
) -> tuple[Hearing | None, tuple[Problem, ...]]:
    """Read what `riffract hear` found, if it still holds; else say why it does not."""
    path = folder / ALIGNMENT_FILE
    if not path.is_file():
        return None, ()
    hearing = kept.read_hearing(path)
    if isinstance(hearing, Problem):
        return None, (hearing,)
    now = kept.made_from(passage, folder / recording.file)
    why = kept.why_stale(hearing, now, anchors_of(recording, passage))
    return (None, (kept.unused_problem(why),)) if why else (hearing, ())


def time_map_of(passage: Passage, recording: Recording | None, hearing: Hearing | None) -> TimeMap:
    """Map score time to the time of the film's sound.

    From the tempo marks for a rendering. For a recording from what was heard in it; if nothing
    was, from the analyst's anchors, beyond the first and the last of them at the tempo marks' pace.
    """
    if hearing is not None:
        return hearing.alignment.time_map
    start = 0.0 if recording is None else recording.starts_at_seconds
    anchors = () if recording is None else anchors_of(recording, passage)
    written = TimeMap.from_tempos(passage.tempos, passage.length_quarters, start_seconds=start)
    return _through(anchors, written, passage.length_quarters) if anchors else written


def _through(anchors: Sequence[Anchor], written: TimeMap, end_quarters: Fraction) -> TimeMap:
    knots = [(a.quarters, a.seconds) for a in anchors]
    first, last = knots[0], knots[-1]
    if first[0] > 0:
        lead = written.seconds_at(first[0]) - written.seconds_at(Fraction(0))
        knots.insert(0, (Fraction(0), first[1] - lead))
    if last[0] < end_quarters:
        rest = written.seconds_at(end_quarters) - written.seconds_at(last[0])
        knots.append((end_quarters, last[1] + rest))
    return TimeMap(quarters=tuple(q for q, _ in knots), seconds=tuple(s for _, s in knots))


def _quarters_of(anchor: AnchorSetting, passage: Passage) -> Fraction:
    bar = passage.bars[anchor.bar - 1]
    beat = Fraction(anchor.beat).limit_denominator(1_000)
    return bar.start_quarters + (beat - 1) * bar.metre.unit_quarters


def _anchor_problems(anchors: Sequence[AnchorSetting], passage: Passage) -> list[Problem]:
    beyond = [a for a in anchors if a.bar > len(passage.bars)]
    if beyond:
        return [
            Problem(
                what=f"an anchor names bar {beyond[0].bar}, but the passage has "
                f"{len(passage.bars)} bars",
                mend="correct the bar, repeats counted as played",
                place="recording.anchors",
            )
        ]
    moments = [(_quarters_of(a, passage), a.seconds) for a in anchors]
    for number, (before, after) in enumerate(pairwise(moments), start=2):
        if after[0] <= before[0] or after[1] <= before[1]:
            return [
                Problem(
                    what=f"anchor {number} is not later than the one before it, in bars and "
                    "in seconds",
                    mend="put the anchors in order of time",
                    place="recording.anchors",
                )
            ]
    return []
