"""The terms that a handout uses, explained, and the literature behind them."""

from collections.abc import Iterable
from dataclasses import dataclass
from typing import Final

from riffract.analysis.finding import Kind


@dataclass(frozen=True, slots=True, kw_only=True)
class Term:
    """A word and what it means here.

    Attributes:
        word: as it is used in findings and verdicts.
        meaning: one or two sentences.
        kinds: the kinds of finding that use it; empty if all do.
    """

    word: str
    meaning: str
    kinds: frozenset[Kind] = frozenset()


@dataclass(frozen=True, slots=True, kw_only=True)
class Reference:
    """A work that a method follows, with the kinds of finding that use it; empty if all do."""

    text: str
    kinds: frozenset[Kind] = frozenset()


_SCALES: Final = frozenset({Kind.COLLECTION, Kind.COLLECTION_CHANGE})
_SETS: Final = _SCALES | {Kind.SONORITY}

TERMS: Final = (
    Term(word="anchor", meaning="The lowest open string.", kinds=frozenset({Kind.ANCHOR})),
    Term(word="attack", meaning="All notes that start at one moment."),
    Term(
        word="axis",
        meaning="The moment about which a mirror turns.",
        kinds=frozenset({Kind.MIRROR}),
    ),
    Term(
        word="Bayes factor",
        meaning="How much better one description predicts the notes than another; 10 to the "
        "power of 1 means ten times as well.",
        kinds=_SCALES,
    ),
    Term(
        word="bit",
        meaning="A unit of description length: each bit by which one reading is shorter makes "
        "it twice as good an explanation.",
    ),
    Term(
        word="chance",
        meaning="What random versions of the riff give that keep everything but what is asked "
        "about.",
    ),
    Term(word="collection", meaning="The pitch classes of a scale.", kinds=_SCALES),
    Term(
        word="contour",
        meaning="Which of some heights is higher, told by numbers: 0 is the lowest.",
        kinds=frozenset({Kind.GESTURE}),
    ),
    Term(
        word="drone",
        meaning="A pitch that sounds on while others move.",
        kinds=frozenset({Kind.DRONE}),
    ),
    Term(
        word="effect",
        meaning="How far the riff lies from its random versions, in standard deviations.",
    ),
    Term(
        word="grouping",
        meaning="How the units of a bar are felt together, as 11 in 3 + 3 + 3 + 2.",
        kinds=frozenset({Kind.METRE}),
    ),
    Term(
        word="hand shape",
        meaning="Places on the strings that keep their distances while the hand moves.",
        kinds=frozenset({Kind.HAND}),
    ),
    Term(
        word="limb",
        meaning="A stretch that goes one way, or one side of a mirror.",
        kinds=frozenset({Kind.MIRROR, Kind.GESTURE}),
    ),
    Term(
        word="motive",
        meaning="A short idea that comes back, changed or not.",
        kinds=frozenset({Kind.MOTIVE}),
    ),
    Term(
        word="moving voice",
        meaning="The line that moves, without strings that only ring on beside it.",
        kinds=_SETS | {Kind.MIRROR, Kind.GESTURE, Kind.DRONE},
    ),
    Term(
        word="OCT, HEX, WT",
        meaning="Scales that repeat after a part of the octave: octatonic (semitone and whole tone "
        "by turns), hexatonic (semitone and minor third), whole-tone. The small numbers are the "
        "pitch classes that each is named by.",
        kinds=_SCALES,
    ),
    Term(
        word="p",
        meaning="The share of random versions that do as well; the riff itself counts as one.",
    ),
    Term(
        word="pass",
        meaning="One statement of the template, differences included.",
        kinds=frozenset({Kind.PASSES}),
    ),
    Term(
        word="pattern",
        meaning="Notes that come back together, all moved by one step in time and in pitch.",
        kinds=frozenset({Kind.PATTERN}),
    ),
    Term(
        word="pitch class",
        meaning="A pitch without its octave; C is 0, C♯ is 1, up to B, 11.",
        kinds=_SETS,
    ),
    Term(word="q", meaning="p after paying for everything that was looked at."),
    Term(word="quarter", meaning="The length of a quarter note."),
    Term(
        word="reach",
        meaning="How far from its axis a mirror holds better than chance.",
        kinds=frozenset({Kind.MIRROR}),
    ),
    Term(word="rival", meaning="Another explanation of the same notes."),
    Term(word="semitone", meaning="The step of one fret; in short: st."),
    Term(
        word="set class",
        meaning="Pitch classes up to transposition and inversion, written from 0: (0 1 6) is a "
        "semitone with a tritone.",
        kinds=frozenset({Kind.SONORITY}),
    ),
    Term(
        word="tag, link, coda",
        meaning="What stands before the first pass, between passes, behind the last.",
        kinds=frozenset({Kind.PASSES}),
    ),
    Term(
        word="template",
        meaning="The basic version of the riff, from which passes depart.",
        kinds=frozenset({Kind.PASSES}),
    ),
)

REFERENCES: Final = (
    Reference(
        text="Benjamini, Y., and Hochberg, Y.: Controlling the false discovery rate. Journal of "
        "the Royal Statistical Society B 57/1 (1995), 289–300."
    ),
    Reference(
        text="Phipson, B., and Smyth, G. K.: Permutation p-values should never be zero. "
        "Statistical Applications in Genetics and Molecular Biology 9/1 (2010), article 39."
    ),
    Reference(
        text="Forte, A.: The Structure of Atonal Music (1973).", kinds=frozenset({Kind.SONORITY})
    ),
    Reference(text="Rahn, J.: Basic Atonal Theory (1980).", kinds=frozenset({Kind.SONORITY})),
    Reference(
        text="Cohn, R.: Maximally smooth cycles, hexatonic systems, and the analysis of "
        "late-Romantic triadic progressions. Music Analysis 15/1 (1996), 9–40.",
        kinds=_SCALES,
    ),
    Reference(text="Messiaen, O.: Technique de mon langage musical (1944).", kinds=_SCALES),
    Reference(
        text="Morris, R. D.: New directions in the theory and analysis of musical contour. Music "
        "Theory Spectrum 15/2 (1993), 205–228.",
        kinds=frozenset({Kind.GESTURE}),
    ),
    Reference(
        text="Rissanen, J.: Modeling by shortest data description. Automatica 14 (1978), 465–471.",
        kinds=frozenset({Kind.PASSES}),
    ),
    Reference(
        text="Meredith, D., Lemström, K., and Wiggins, G. A.: Algorithms for discovering repeated "
        "patterns in multidimensional representations of polyphonic music. Journal of New Music "
        "Research 31/4 (2002), 321–345.",
        kinds=frozenset({Kind.PATTERN}),
    ),
    Reference(
        text="Smith, T. F., and Waterman, M. S.: Identification of common molecular subsequences. "
        "Journal of Molecular Biology 147 (1981), 195–197.",
        kinds=frozenset({Kind.MOTIVE}),
    ),
    Reference(
        text="Sayegh, S. I.: Fingering for string instruments with the optimum path paradigm. "
        "Computer Music Journal 13/3 (1989), 76–84.",
        kinds=frozenset({Kind.HAND}),
    ),
    Reference(
        text="Toussaint, G. T.: The Geometry of Musical Rhythm (2013).",
        kinds=frozenset({Kind.METRE}),
    ),
    Reference(
        text="Straus, J. N.: Introduction to Post-Tonal Theory (2016).",
        kinds=frozenset({Kind.MIRROR}),
    ),
    Reference(
        text="Sethares, W. A.: Local consonance and the relationship between timbre and scale. "
        "Journal of the Acoustical Society of America 94/3 (1993), 1218–1228.",
        kinds=frozenset({Kind.DRONE}),
    ),
    Reference(
        text="Vassilakis, P. N.: Perceptual and physical properties of amplitude fluctuation and "
        "their musical significance. Dissertation, UCLA (2001).",
        kinds=frozenset({Kind.DRONE}),
    ),
)


def terms_for(kinds: Iterable[Kind]) -> tuple[Term, ...]:
    """List the terms that findings of some kinds need, by word."""
    wanted = frozenset(kinds)
    return tuple(term for term in TERMS if not term.kinds or term.kinds & wanted)


def references_for(kinds: Iterable[Kind]) -> tuple[Reference, ...]:
    """List the works behind findings of some kinds, by author."""
    wanted = frozenset(kinds)
    found = (work for work in REFERENCES if not work.kinds or work.kinds & wanted)
    return tuple(sorted(found, key=lambda work: work.text))
