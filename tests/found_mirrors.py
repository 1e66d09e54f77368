"""The mirrors of a passage as they are found, before anything is weighed."""

from collections.abc import Sequence
from fractions import Fraction

from riffract.analysis.attacks import anchor_notes, attacks_of, lead_notes, punctuating_anchors
from riffract.analysis.finding import Finding, Gesture, Mirror
from riffract.analysis.gestures.find import find_gesture
from riffract.analysis.mirrors.find import find_mirrors, mirror_in
from riffract.music import Passage


def mirrors_in(music: Passage) -> list[Finding]:
    attacks = attacks_of(music)
    lead = lead_notes(music.notes, attacks, without=punctuating_anchors(music, attacks))
    gestures = find_gesture(music, attacks, lead)
    gesture = gestures[0].what if gestures else None
    assert gesture is None or isinstance(gesture, Gesture)
    anchors = anchor_notes(music)
    found = find_mirrors(music, attacks, lead, anchors=anchors, gesture=gesture)
    return [one.finding for one in found]


def of_kind(findings: Sequence[Finding], of: str) -> list[Finding]:
    return [f for f in findings if mirror_in(f).of == of]


def nearest(music: Passage, of: str, axis_quarters: Fraction) -> Mirror:
    """The mirror of a kind that turns nearest to a moment."""
    mirrors = [mirror_in(f) for f in of_kind(mirrors_in(music), of)]
    return min(mirrors, key=lambda what: abs(what.axis_quarters - axis_quarters))
