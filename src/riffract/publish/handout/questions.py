"""The handout for lessons: what is claimed becomes a question first, and an answer pages later."""

from collections import Counter
from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from types import MappingProxyType
from typing import Any, Final

from riffract.analysis.finding import Kind
from riffract.analysis.saying import say
from riffract.analysis.wording import bars_text
from riffract.essay.shots import Shot
from riffract.publish.handout.document import NOT_CLAIMS
from riffract.weighing.study import Study


@dataclass(frozen=True, slots=True, kw_only=True)
class Question:
    """What a finding of one kind answers, asked without giving the answer away.

    Attributes:
        question: for the ear and the eye.
        find: what is to be written down.
        listen: what to follow while the music plays.
    """

    question: str
    find: str
    listen: str


QUESTIONS: Final[Mapping[Kind, Question]] = MappingProxyType(
    {
        Kind.PASSES: Question(
            question="How often does the riff come round, and which time is different?",
            find="the bar where each round starts, and what is changed, missing or new",
            listen="the start coming back",
        ),
        Kind.MIRROR: Question(
            question="Where does the line turn round and go back the way it came?",
            find="the moment of the turn, and how far the way back matches",
            listen="steps that come again the other way",
        ),
        Kind.GESTURE: Question(
            question="Which way does the line go, how far, and how fast?",
            find="the lowest and the highest note, and the time between them",
            listen="rise and fall, and which of them is quicker",
        ),
        Kind.SONORITY: Question(
            question="Which sound holds these notes together?",
            find="the notes that recur, and the distances between them in semitones",
            listen="one colour that keeps coming back at other pitches",
        ),
        Kind.COLLECTION: Question(
            question="Which scale do these notes come from?",
            find="all the different notes, without octaves, in order",
            listen="the note that sounds like home, and the one that sounds foreign",
        ),
        Kind.COLLECTION_CHANGE: Question(
            question="Where do the notes begin to come from another scale?",
            find="the bar of the change, the notes that go and the notes that come",
            listen="the moment when the colour changes",
        ),
        Kind.DRONE: Question(
            question="What sounds on while everything else moves?",
            find="the note, its string, and how long it rings",
            listen="one pitch under or over the line",
        ),
        Kind.ANCHOR: Question(
            question="Which note does the line keep coming home to?",
            find="the note, and the beats that it falls on",
            listen="the lowest note, and how often it is struck",
        ),
        Kind.MOTIVE: Question(
            question="Which short idea comes back, and how is it changed?",
            find="each place where it starts, and what is done to it",
            listen="a few notes that you could sing after one hearing",
        ),
        Kind.PATTERN: Question(
            question="Which notes come back together, all moved by one step?",
            find="how far they are moved in pitch, and after how long",
            listen="the same shape from another note",
        ),
        Kind.HAND: Question(
            question="What does the hand do to play this?",
            find="the shape that stays, and where it moves to",
            listen="play it slowly, and feel which fingers keep their distance",
        ),
        Kind.METRE: Question(
            question="How are the beats grouped here?",
            find="the groups, as 3 + 3 + 2, and the notes that make you hear them",
            listen="count along, and notice where your foot wants to fall",
        ),
    }
)

OWN: Final = Question(
    question="What do you notice here?",
    find="one thing that you could show to somebody else",
    listen="what is different from what came before",
)
"""For a claim of the analyst's own, which no finding stands behind."""


def with_questions(data: Mapping[str, Any], shots: Sequence[Shot], study: Study) -> dict[str, Any]:
    """Make a handout's data those of the one with questions.

    Args:
        data: of the plain handout, as `handout_data` gives them.
        shots: the film's; each claim becomes a question, by its first finding.
        study: the passage with all its findings.

    Returns:
        The same data with `questions` in the order of the claims; a handout without claims asks
        nothing, and is as the plain one.
    """
    claims = (shot for shot in shots if shot.scene not in NOT_CLAIMS)
    asked = [_asked(shot, study) for shot in claims]
    times = Counter(one["question"] for one in asked)
    return {
        **data,
        "questions": [_told_apart(one) if times[one["question"]] > 1 else one for one in asked],
    }


def _told_apart(asked: dict[str, str]) -> dict[str, str]:
    """Name the bars in a question that is asked of several places."""
    return {**asked, "question": f"{asked['question']} ({asked['look']})"}


def _asked(shot: Shot, study: Study) -> dict[str, str]:
    asked = QUESTIONS[shot.findings[0].finding.kind] if shot.findings else OWN
    return {
        "question": say(asked.question),
        "find": say(asked.find),
        "look": _where(shot, study),
        "listen": say(asked.listen),
    }


def _where(shot: Shot, study: Study) -> str:
    """Say which bars are played, or those of the finding if nothing is."""
    spans = [play.span for play in shot.plays]
    if not spans and shot.findings:
        spans = list(shot.findings[0].finding.spans)
    return bars_text(study.passage, spans) if spans else say("the whole passage")
