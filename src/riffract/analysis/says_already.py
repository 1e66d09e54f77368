"""When one finding says what another one says, though they are of different kinds.

A figure that comes back upside down is a mirror of its two statements; a line that climbs and falls
is, upside down, a line that falls and climbs; notes in a row from one scale sound the classes that
the scale is made of. Each of these is one fact, and heard once.
"""

from collections.abc import Collection as Some
from collections.abc import Mapping, Sequence
from itertools import pairwise
from types import MappingProxyType
from typing import Final

from riffract.analysis.finding import (
    Collection,
    Finding,
    Gesture,
    Limb,
    Mirror,
    MirrorOf,
    Motive,
    Passes,
    Sonority,
)
from riffract.analysis.pitch_class_set import mask_of
from riffract.analysis.set_class import set_class_of
from riffract.music import Passage, Span

SAID_SHARE: Final = 0.75
"""A finding is said already if so much of it is. At its edges any stretch goes on for a note or two
by chance."""

_TURNED: Final[Mapping[tuple[bool, bool], MirrorOf]] = MappingProxyType(
    {(True, False): "inversion", (False, True): "retrograde", (True, True): "retrograde_inversion"}
)
"""The mirror of each way to turn a figure: upside down, backwards."""

_LIMBS_IN_REVERSE: Final = ("gesture", "retrograde")
"""A fall that answers a climb note by note brings its notes back in reverse."""


def says_already(passage: Passage, cause: Finding, one: Finding) -> bool:
    """Tell whether a finding follows from another one.

    Definition: it does if at least three quarters of it are said by the other, which is so

    - of a mirror, if its partners are partners in a return turned the same way, or in a larger
      mirror of the same kind; notes in reverse, if a fall answers a climb with the same partners;
    - of a return, if its notes are partners in a mirror of the same turn;
    - of a return or a mirror upside down, if both lie in one limb each of those that are told, and
      their steps go its way: what mostly climbs, mostly falls when upside down;
    - of a sequence, if its statements are passes of a riff that moves with them;
    - of a rhythm that comes back, if a return tells its notes as well, at the same pace;
    - of a class sounded in succession, if all neighbours in a scale that is told form it.

    Two findings may each say the other.

    Args:
        passage: where they are.
        cause: the finding that may say it.
        one: the finding that may follow.
    """
    match cause.what, one.what:
        case Motive() as motive, Mirror() as mirror:
            return _turn(motive) == mirror.of and _partners_share(mirror, motive) >= SAID_SHARE
        case Mirror() as mirror, Motive() as motive:
            return _turn(motive) == mirror.of and _is_part(motive, mirror)
        case Mirror() as larger, Mirror() as smaller:
            is_like = larger.of == smaller.of or (larger.of, smaller.of) == _LIMBS_IN_REVERSE
            return is_like and _has_partners_of(larger, smaller)
        case Gesture() as gesture, (Mirror() | Motive()) as turned:
            return _lies_in_limbs(passage, gesture, turned)
        case Motive() as motive, Passes() as passes:
            return passes.of == "rhythm" and _tells_the_rhythm(motive, passes)
        case Passes() as passes, Motive() as sequence if sequence.goes_on:
            return passes.of == "notes" and _tells_the_sequence(passes, sequence)
        case Collection() as scale, Sonority() as sound:
            return _is_of_scale(scale, sound) and _share_within(one.spans, cause.spans)
        case _:
            return False


def said_by_scales(scales: Sequence[Finding], one: Finding) -> tuple[Finding, ...]:
    """Choose the scales from which a class sounded in succession follows when taken together.

    Definition: those whose neighbours all form the class, if three quarters of it lie within them.
    A riff that goes from one hexatonic scale to another sounds one class in both.

    Args:
        scales: findings of scales.
        one: the finding that may follow.

    Returns:
        Those scales, in the order given; none if it does not follow from them.
    """
    sound = one.what
    if not isinstance(sound, Sonority):
        return ()
    fitting = [
        scale
        for scale in scales
        if isinstance(scale.what, Collection) and _is_of_scale(scale.what, sound)
    ]
    spans = _joined([span for scale in fitting for span in scale.spans])
    return tuple(fitting) if _share_within(one.spans, spans) else ()


def _joined(spans: Sequence[Span]) -> list[Span]:
    """Join stretches that overlap or meet; in order of time."""
    joined: list[Span] = []
    for span in sorted(spans):
        if joined and span.start_quarters <= joined[-1].end_quarters:
            end = max(joined[-1].end_quarters, span.end_quarters)
            joined[-1] = Span(joined[-1].start_quarters, end)
        else:
            joined.append(span)
    return joined


def _tells_the_sequence(passes: Passes, sequence: Motive) -> bool:
    """Whether the statements of a sequence are, one by one, passes at levels of their own."""
    played = passes.readings[0].passes
    statements = (sequence.source, sequence.return_, *sequence.goes_on)
    told = [
        one.transposition
        for place in statements
        for one in played
        if place.span.overlap_quarters(one.span) >= SAID_SHARE * one.span.length_quarters
        and place.span.overlap_quarters(one.span) >= SAID_SHARE * place.span.length_quarters
    ]
    return len(told) >= SAID_SHARE * len(statements) and len(set(told)) == len(told)


def _turn(motive: Motive) -> MirrorOf | None:
    transform = motive.transform
    if motive.source.passage != 0 or motive.goes_on:
        return None
    return _TURNED.get((transform.inversion, transform.retrograde))


def _partners_share(mirror: Mirror, motive: Motive) -> float:
    """Give the share of a mirror's pairs that lie one in each statement of a figure."""
    source, return_ = set(motive.source.notes), set(motive.return_.notes)
    held = sum(p.left in source and p.right in return_ for p in mirror.pairs)
    return held / len(mirror.pairs) if mirror.pairs else 0.0


def _is_part(motive: Motive, mirror: Mirror) -> bool:
    """Whether a return's notes are partners in a mirror."""
    source = set(motive.source.notes)
    answers = {p.right for p in mirror.pairs if p.left in source}
    return _mostly(motive.return_.notes, answers)


def _has_partners_of(larger: Mirror, smaller: Mirror) -> bool:
    here, there = (
        {(min(p.left, p.right), max(p.left, p.right)) for p in what.pairs}
        for what in (larger, smaller)
    )
    return len(here) > len(there) and _mostly(there, here)


def _lies_in_limbs(passage: Passage, gesture: Gesture, turned: Mirror | Motive) -> bool:
    """Whether what is turned upside down, and its image, go the way of one limb each."""
    if isinstance(turned, Motive):
        turn, places = _turn(turned), (turned.source.notes, turned.return_.notes)
    else:
        left = tuple(sorted(p.left for p in turned.pairs))
        turn, places = turned.of, (left, tuple(sorted(p.right for p in turned.pairs)))
    if turn not in ("inversion", "retrograde_inversion"):
        return False
    return all(any(_goes_with(passage, limb, notes) for limb in gesture.limbs) for notes in places)


def _goes_with(passage: Passage, limb: Limb, notes: Sequence[int]) -> bool:
    """Whether some notes lie in a limb, and their steps go its way."""
    sign = 1 if limb.direction == "rising" else -1
    pitch = passage.notes.pitch
    forwards = [sign * int(pitch[b] - pitch[a]) > 0 for a, b in pairwise(notes)]
    return _mostly(notes, limb.notes) and sum(forwards) >= SAID_SHARE * len(forwards) > 0


def _tells_the_rhythm(motive: Motive, passes: Passes) -> bool:
    transform = motive.transform
    if transform.retrograde or transform.scale != 1 or motive.is_free or motive.source.passage:
        return False
    statements = [one.span for one in passes.readings[0].passes]
    places = [motive.source.span, motive.return_.span, *(p.span for p in motive.goes_on)]
    if len(statements) > len(places):
        return False
    return all(
        _share_within([statement], [place])
        and statement.start_quarters - place.start_quarters
        == statements[0].start_quarters - places[0].start_quarters
        for statement, place in zip(statements, places, strict=False)
    )


def _is_of_scale(scale: Collection, sound: Sonority) -> bool:
    """Whether every run of neighbours in a scale, of the size of a class, is of that class."""
    size, pcs = len(sound.prime_form), sorted(scale.pcs)
    if sound.how != "in_succession" or size >= len(pcs):
        return False
    around = [*pcs, *pcs]
    runs = [around[k : k + size] for k in range(len(pcs))]
    return all(set_class_of(mask_of(run)).forte == sound.forte for run in runs)


def _share_within(spans: Sequence[Span], others: Sequence[Span]) -> bool:
    """Whether most of some stretches lies within others, which do not overlap."""
    length = sum(span.length_quarters for span in spans)
    return length > 0 and SAID_SHARE * float(length) <= sum(
        float(span.overlap_quarters(other)) for span in spans for other in others
    )


def _mostly(these: Some[object], those: Some[object]) -> bool:
    return bool(these) and len(set(these) & set(those)) >= SAID_SHARE * len(set(these))
