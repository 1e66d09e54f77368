"""What the handout says itself: its headings and its fixed sentences, in English."""

from collections.abc import Mapping
from types import MappingProxyType
from typing import Final

from riffract.publish.set_by_hand import NOT_FOUND

SAFE_LISTENING: Final = (
    "Start softly and raise the level only as far as is comfortable, above all on headphones; "
    "rest your ears now and then. As a guide, 80 dB for 40 hours a week are held to be safe for "
    "adults, and each 3 dB more halves that time (WHO and ITU, Recommendation H.870)."
)

HEADINGS: Final[Mapping[str, str]] = MappingProxyType(
    {
        "in_short": "In short",
        "questions": "Questions",
        "find": "find",
        "look": "look at",
        "listen": "listen for",
        "answers": "The answers stand on the pages behind this one.",
        "not_weighed": "not weighed",
        "passage": "The passage",
        "recording": "The recording",
        "doubted": "It does not bear out everything as it is written:",
        "by_ear": "Heard as written by the analyst, although it seems to say otherwise:",
        "as_text": "The passage as text",
        "too_fine": (
            "Some of its times are finer than notation can write, so it stands here as tab only."
        ),
        "why_text": "The tab once more, to be copied or read aloud.",
        "pictures": "How to read the pictures",
        "claims": "The claims",
        "own": "The analyst's own observation; it was not weighed.",
        "rival": "rival",
        "same_finding": "The same finding as with claim",
        "more_there": "more of it stands there.",
        "verdicts": "What the verdicts mean",
        "by_hand": "Set by hand",
        "not_found": NOT_FOUND,
        "rest": "Found, but not claimed",
        "finding": "Finding",
        "where": "Where",
        "verdict": "Verdict",
        "left_out": "Left out of the study",
        "terms": "Words used here",
        "again": "How this was made, and how to make it again",
        "made_with": "Made with Riffract",
        "seed": "Random versions were drawn with seed",
        "files": "The essay's files:",
        "and": "and",
        "sums": "You have the same files if their SHA-256 sums are these:",
        "same": "The same files, version and seed give the same findings:",
        "lists": "lists them all, with every number.",
        "literature": "Literature",
        "rights": "Rights",
        "others": "Recordings and music of others stay theirs; ask before you publish them.",
        "safe": "Safe listening",
    }
)
"""What the template says itself, by the names that it uses."""
