"""Why there is nothing to find: a passage that holds too little to ask much of."""

from collections.abc import Sequence
from typing import Final

from riffract.analysis.attacks import Attack
from riffract.analysis.finding import Ignored
from riffract.analysis.saying import say, say_count
from riffract.music import Passage

FEWEST_ATTACKS: Final = 4
"""With three attacks every question has a trivial answer: any two of them mirror about a third."""


def too_little(passage: Passage, attacks: Sequence[Attack]) -> tuple[Ignored, ...]:
    """Say which questions a passage is too short, or too bare, to answer.

    Returns:
        The reason, the plainest one only; nothing for a passage with enough in it.

    >>> from tests.making import passage
    >>> from riffract.analysis.attacks import attacks_of
    >>> single = passage([(40, 1)])
    >>> too_little(single, attacks_of(single))[0].why
    'the passage has one attack; with fewer than four nothing can come back, mirror or change'
    """
    if not attacks:
        return (
            _left_out(say("every question"), say("no note is struck: the passage is all rests")),
        )
    if len(attacks) < FEWEST_ATTACKS:
        why = say_count(
            len(attacks),
            "the passage has one attack; with fewer than four nothing can come back, mirror or "
            "change",
            "the passage has {count} attacks; with fewer than four nothing can come back, mirror "
            "or change",
        )
        return (_left_out(say("every question"), why),)
    if not any(attack.pitches for attack in attacks):
        why = say("every note is dead, so there is a rhythm but no pitch")
        return (_left_out(say("every question about pitch"), why),)
    pitches = {pitch for attack in attacks for pitch in attack.pitches}
    if len(pitches) == 1:
        why = say("only one pitch is played, so there is a rhythm but no line")
        return (_left_out(say("every question about pitch"), why),)
    if len(passage.bars) == 1:
        why = say("the passage is one bar, so nothing can be told against the bar lines")
        return (_left_out(say("how the riff sits against the bars"), why),)
    return ()


def _left_out(what: str, why: str) -> Ignored:
    return Ignored(what=what, why=why, where=say("everywhere"))
