"""Claims that the findings themselves suggest, in an order that a listener can follow.

Shape first, which anyone can hear; then what bends it; then harmony from surface to depth; then
the instrument's part; then the whole. Only solid findings are proposed. The analyst may take
others, in any order and words.
"""

from collections.abc import Callable, Iterable, Mapping
from types import MappingProxyType
from typing import Final

from riffract.analysis.finding import (
    Collection,
    CollectionChange,
    Drone,
    Gesture,
    Kind,
    Mirror,
    Passes,
    Position,
    What,
)
from riffract.essay.claims import Claim, Excerpt
from riffract.essay.shots import SceneName
from riffract.music import Passage, Span, TimeMap
from riffract.weighing.study import Study, WeighedFinding

LONGEST_EXCERPT_SECONDS: Final = 12.0
SLOW: Final = 0.6
_NOTHING_SOLID: Final = (
    "Nothing in it goes beyond what chance would do.",
    "So this essay claims nothing. The handout lists what was looked at.",
)


def proposed_claims(study: Study) -> tuple[Claim, ...]:
    """Propose claims for a passage.

    Returns:
        At most six. A passage without a solid finding gets one picture of itself, which says so.
    """
    solid = [f for f in study.findings if f.is_solid]
    if not solid:
        return (_bare_page(study.passage),)
    makers: tuple[Callable[[Study], Claim | None], ...] = (_page, _stack, _fold, _clock, _thread)
    claims = [claim for maker in makers if (claim := maker(study)) is not None]
    return (*claims, _whole(study))


def _bare_page(passage: Passage) -> Claim:
    return Claim(
        title=f"{passage.title or 'The passage'}, as written.",
        scene=SceneName.PAGE,
        lines=_NOTHING_SOLID,
        excerpts=(_excerpt(passage, passage.span),),
        finding=None,
    )


def _page(study: Study) -> Claim | None:
    found = _best(study, Kind.GESTURE)
    passage = study.passage
    template = _template(study) or passage.span
    if found is None or not isinstance(found.finding.what, Gesture):
        return None
    return Claim(
        title=_gesture_title(found.finding.what) or found.finding.sentence,
        scene=SceneName.PAGE,
        lines=("Follow the marks: they stand where the line rises, and hang where it falls.",),
        excerpts=(_excerpt(passage, template),),
        finding=found,
    )


def _stack(study: Study) -> Claim | None:
    found = _best(study, Kind.PASSES)
    if found is None or not isinstance(found.finding.what, Passes):
        return None
    best = found.finding.what.readings[0]
    departing = [p.span for p in best.passes if p.edits or p.truncated != "none"]
    spans = departing[:2] or [p.span for p in best.passes[:2]]
    lines = ["Each row is one statement, laid out so that what belongs together stands together."]
    if departing:
        lines.append("What departs is marked: added, missing, or changed.")
    return Claim(
        title=found.finding.sentence,
        scene=SceneName.STACK,
        lines=tuple(lines),
        excerpts=tuple(_excerpt(study.passage, span) for span in spans),
        finding=found,
    )


def _fold(study: Study) -> Claim | None:
    mirrors = [
        f
        for f in _solid(study, Kind.MIRROR)
        if isinstance(f.finding.what, Mirror) and f.finding.what.of not in {"rhythm", "weight"}
    ]
    found = min(mirrors, key=_fold_rank, default=None)
    if found is None or not isinstance(found.finding.what, Mirror):
        return None
    what = found.finding.what
    span = Span(
        min(what.left.start_quarters, what.right.start_quarters),
        max(what.left.end_quarters, what.right.end_quarters),
    )
    agree = int(found.finding.measures["pairs_agree"])
    off = len(what.pairs) - agree
    misses = f"{off} miss" if off != 1 else "one misses"
    return Claim(
        title=f"{found.finding.sentence.partition(':')[0].rstrip('.')}.",
        scene=SceneName.FOLD,
        lines=(
            "Listen for the point where the line turns back on itself.",
            "Fold one half over, and bend the mirror until both halves meet."
            if abs(what.scale - 1.0) >= 0.05
            else "Fold one half over: this mirror is straight.",
            f"{agree} of {len(what.pairs)} pairs land on one note"
            + (f"; {misses}." if off else "."),
        ),
        excerpts=(_excerpt(study.passage, span, speed=SLOW), _excerpt(study.passage, span)),
        finding=found,
    )


def _fold_rank(found: WeighedFinding) -> tuple[int, float]:
    what = found.finding.what
    order = {"retrograde": 0, "gesture": 1, "retrograde_inversion": 2, "inversion": 3}
    rank = order.get(what.of, 4) if isinstance(what, Mirror) else 4
    return rank, -found.finding.measures.get("pairs", 0.0)


def _clock(study: Study) -> Claim | None:
    changes = [
        f
        for f in _solid(study, Kind.COLLECTION_CHANGE)
        if isinstance(f.finding.what, CollectionChange)
    ]
    collections = [
        f for f in _solid(study, Kind.COLLECTION) if isinstance(f.finding.what, Collection)
    ]
    found = next(iter([*changes, *collections]), None)
    if found is None:
        return None
    lines = ["Twelve notes on one ring, neighbours a semitone apart; what is used stands out."]
    spans = [f.finding.spans[0] for f in collections[:2]] or [found.finding.spans[0]]
    return Claim(
        title=_scale_title(found.finding.what) or found.finding.sentence,
        scene=SceneName.CLOCK,
        lines=tuple(lines),
        excerpts=tuple(_excerpt(study.passage, span) for span in sorted(spans)),
        finding=found,
    )


def _thread(study: Study) -> Claim | None:
    found = _best(study, Kind.DRONE)
    if found is None or not isinstance(found.finding.what, Drone):
        return None
    return Claim(
        title=f"One string rings on; the line {_PASSES[found.finding.what.position]}.",
        scene=SceneName.THREAD,
        lines=("Listen to the string that rings on, and to what each new note does against it.",),
        excerpts=(_excerpt(study.passage, found.finding.spans[0]),),
        finding=found,
    )


_PASSES: Final[Mapping[Position, str]] = MappingProxyType(
    {
        "below": "moves above it",
        "above": "moves below it",
        "middle": "moves around it",
        "crossing": "crosses it",
    }
)


def _gesture_title(what: Gesture) -> str | None:
    """Say which way takes longer, if both ways occur and one does by a quarter or more."""
    if what.ratio is None or 0.8 <= what.ratio <= 1.25:
        return None
    longer, shorter = ("fall", "climb") if what.ratio > 1.0 else ("climb", "fall")
    return f"A {longer} takes {max(what.ratio, 1 / what.ratio):.1f} times as long as a {shorter}."


def _scale_title(what: What) -> str | None:
    match what:
        case CollectionChange(transposition=int()):
            return "The same sound, another scale."
        case CollectionChange():
            return "The scale changes on the way."
        case Collection(fragment=False):
            return f"The line uses one whole {what.family} scale."
        case _:
            return None


def _whole(study: Study) -> Claim:
    count = sum(f.is_solid for f in study.findings)
    things = "one thing" if count == 1 else f"{count} things"
    return Claim(
        title="All of it at once.",
        scene=SceneName.WHOLE,
        lines=(f"The whole passage, with {things} to listen for.",),
        excerpts=(_excerpt(study.passage, study.passage.span, longest_seconds=60.0),),
        finding=None,
    )


def _solid(study: Study, kind: Kind) -> Iterable[WeighedFinding]:
    return (f for f in study.of_kind(kind) if f.is_solid)


def _best(study: Study, kind: Kind) -> WeighedFinding | None:
    return next(iter(_solid(study, kind)), None)


def _template(study: Study) -> Span | None:
    passes = _best(study, Kind.PASSES)
    if passes is None or not isinstance(passes.finding.what, Passes):
        return None
    return passes.finding.what.readings[0].template


def _excerpt(
    passage: Passage,
    span: Span,
    *,
    speed: float = 1.0,
    longest_seconds: float = LONGEST_EXCERPT_SECONDS,
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
