"""What the analyst has set by hand, as plain values: told apart from what was found."""

from collections.abc import Sequence
from typing import Final

from riffract.analysis.saying import say
from riffract.essay.by_hand.measured import HandMeasured
from riffract.music import Passage
from riffract.publish.plain_values import Json, span_as_json
from riffract.publish.wording import place_text

SET_BY_HAND: Final = "set_by_hand"
"""Stands where a finding has its verdict: nobody weighed it, the analyst chose it."""

NOT_FOUND: Final = (
    "The analyst set these; the notes were asked about each of them afterwards. They were not "
    "weighed with the findings, and what is searched for until it fits looks rarer than it is."
)
"""Told wherever things set by hand stand for a reader."""


def by_hand_facts(one: HandMeasured) -> list[tuple[str, str]]:
    """Give what the notes say about something set by hand, the names said, too."""
    return [(say(name), text) for name, text in one.facts]


def by_hand_as_json(by_hand: Sequence[HandMeasured]) -> list[Json]:
    """Give what was set by hand, ready for JSON, in the order of the file."""
    return [
        {
            "id": _name(one),
            "kind": one.set.table,
            "span": span_as_json(one.span),
            "sentence": one.sentence,
            "facts": [{"name": name, "text": text} for name, text in one.facts],
        }
        for one in by_hand
    ]


def by_hand_row(one: HandMeasured, passage: Passage) -> dict[str, Json]:
    """Give something set by hand as a row of the table of findings; the numbers are left out."""
    return {
        "id": _name(one),
        "kind": one.set.table,
        "verdict": SET_BY_HAND,
        "start_quarters": one.span.start_quarters,
        "end_quarters": one.span.end_quarters,
        "start_place": place_text(passage, one.span.start_quarters),
        "spans": 1,
        "sentence": one.sentence,
        "detail": "; ".join(f"{name}: {text}" for name, text in by_hand_facts(one)),
    }


def _name(one: HandMeasured) -> str:
    """Name its row in the file: nothing else is set by the same name."""
    return f"by-hand-{one.set.table}-{one.set.number + 1}"
