"""The public MusicXML test suite: each file is read, and says what its own description says.

Source: cuthbertLab/musicxmlTestSuite (MIT), an unofficial suite whose files describe themselves in
`miscellaneous-field name="description"`; kept beside the project, not in it.
"""

from collections.abc import Callable
from fractions import Fraction
from pathlib import Path

import pytest

from riffract.formats.musicxml import read_musicxml
from riffract.formats.problem import ReadResult, Severity
from riffract.music import Metre, Passage, Technique

SUITE = Path(__file__).parents[3] / "shared" / "data" / "musicxml" / "suite"
FILES = sorted(SUITE.glob("*xml")) if SUITE.is_dir() else []
NEEDS_SUITE = pytest.mark.skipif(
    not FILES, reason=f"the MusicXML test suite is not beside the project, at {SUITE}"
)
BEYOND_A_GUITAR = {
    "01a-Pitches-Pitches.xml",  # up to C♯7
    "21g-Chords-Tremolos.musicxml",  # clusters
    "33d-Spanners-OctaveShifts.xml",  # up to C7
}


def result_of(name: str) -> ReadResult:
    return read_musicxml((SUITE / name).read_bytes(), source=name)


def passage_of(name: str) -> Passage:
    passage = result_of(name).passage
    assert passage is not None
    return passage


@NEEDS_SUITE
def test_all_files_of_the_suite_are_here() -> None:
    assert len(FILES) == 73


@NEEDS_SUITE
@pytest.mark.parametrize("path", FILES, ids=lambda path: path.name)
def test_each_file_is_read_or_says_what_a_guitar_cannot_play(path: Path) -> None:
    result = read_musicxml(path.read_bytes(), source=path.name)
    errors = [p for p in result.problems if p.severity is Severity.ERROR]
    assert (result.passage is None) == bool(errors) == (path.name in BEYOND_A_GUITAR)
    assert all("cannot be played" in p.what and p.line and p.place for p in errors)
    assert all(p.mend for p in result.problems)


def metres(p: Passage) -> list[Metre]:
    return [bar.metre for bar in p.bars]


def written(p: Passage) -> list[int]:
    return [bar.written_number for bar in p.bars]


def lengths(p: Passage) -> list[str]:
    return [str(bar.length_quarters) for bar in p.bars]


def values(p: Passage) -> list[Fraction]:
    return [n.duration_quarters for n in p.notes]


def pitches(p: Passage) -> list[int | None]:
    return [n.pitch for n in p.notes]


def tempos(p: Passage) -> list[float]:
    return [t.quarters_per_minute for t in p.tempos]


HALVES = [Fraction(8, 2**k) for k in range(8)]
THIRD, FIFTH = Fraction(1, 3), Fraction(2, 15)

# What is expected is the file's own description, except where a comment says otherwise.
FACTS: list[tuple[str, Callable[[Passage], object], object]] = [
    # "All common note durations, from brevis, whole until 64th; plain, dotted, doubly-dotted"
    ("03aa-Rhythm-Durations.xml", lambda p: values(p)[:8], HALVES),
    ("03aa-Rhythm-Durations.xml", lambda p: values(p)[9:17], [v * 3 / 2 for v in HALVES]),
    ("03aa-Rhythm-Durations.xml", lambda p: values(p)[18:24], [v * 7 / 4 for v in HALVES[1:7]]),
    # "a backup that does not jump to the beginning ... voice 2 thus won't have any notes or rests
    # for the first beat"
    (
        "03b-Rhythm-Backup.xml",
        lambda p: sorted({str(n.onset_quarters) for n in p.notes}),
        ["0", "1", "2"],
    ),
    # "2/2, 4/4, 2/2, 3/2, 2/4, 3/4, 4/4, 5/4, 3/8, 6/8, 12/8"
    (
        "11a-TimeSignatures.xml",
        lambda p: [m.label() for m in metres(p)],
        ["2/2", "4/4", "2/2", "3/2", "2/4", "3/4", "4/4", "5/4", "3/8", "6/8", "12/8"],
    ),
    # "(3+2)/8 and (5+3+1)/4"
    (
        "11c-TimeSignatures-CompoundSimple.xml",
        metres,
        [Metre(groups=(3, 2), unit=8), Metre(groups=(5, 3, 1), unit=4)],
    ),
    # "(3+2)/8+3/4"
    ("11e-TimeSignatures-CompoundMixed.xml", metres, [Metre(groups=(3, 2, 6), unit=8)]),
    # "Multi-measure rests should always be converted into durations that are a multiple of the
    # time signature"
    (
        "02d-Rests-Multimeasure-TimeSignatures.xml",
        lambda p: all(b.length_quarters == b.metre.length_quarters for b in p.bars),
        True,
    ),
    # "The default (4/4 in treble clef) should be used"
    ("12b-Clefs-NoKeyOrClef.xml", lambda p: [m.label() for m in metres(p)], ["4/4", "4/4"]),
    # "One simple chord consisting of two notes"
    ("21a-Chord-Basic.xml", lambda p: {n.onset_quarters for n in p.notes}, {Fraction(0)}),
    # "Check for proper chord detection after a pickup measure"
    ("21e-Chords-PickupMeasures.xml", lambda p: lengths(p)[0], "1"),
    # "a 5:2 tuplet inside a 3:2 tuplet (all consisting of written eighth notes)"
    (
        "23d-Tuplets-Nested.xml",
        lambda p: sorted(set(values(p))),
        [FIFTH, THIRD],
    ),
    # "Chords as grace notes"; a grace note has no time, so the notes after it keep theirs
    ("24b-ChordAsGraceNote.xml", lambda p: p.length_quarters, 3),
    # two chords of two graces, in front of the second and third note
    (
        "24b-ChordAsGraceNote.xml",
        lambda p: [(int(g.at_quarters), g.place) for g in p.graces],
        [(1, 0), (1, 0), (2, 0), (2, 0)],
    ),
    # "Some grace notes and after-graces": three between the two notes, two after the last one
    ("24d-AfterGrace.xml", lambda p: [g.place for g in p.graces], [0, 1, 2]),
    # as many fermatas as notes, of all shapes
    ("32e-Fermatas.musicxml", lambda p: len(p.fermatas), 7),
    # "Two simple tied whole notes"
    ("33b-Spanners-Tie.xml", values, [Fraction(8)]),
    # "all three notes should have a staccato and an accent"
    (
        "32c-MultipleNotationChildren.xml",
        lambda p: {n.techniques for n in p.notes},
        {Technique.STACCATO | Technique.ACCENT},
    ),
    # "A simple, repeated measure (repeated 5 times)"
    ("45a-SimpleRepeat.xml", written, [1, 1, 1, 1, 1, 2]),
    # bars 2 to 3 five times; the sign after bar 7 has no start, so it goes back to the end of the
    # last repeat (common practice)
    (
        "45c-RepeatMultipleTimes.xml",
        written,
        [1, *[2, 3] * 5, *[4, 5, 6, 7] * 3, 8],
    ),
    # "Some more nested repeats with alternatives. The barline between measure 7 and 8 ... should
    # be a repeat on both sides"
    (
        "45e-Repeats-Nested-Alternatives.xml",
        written,
        [1, 2, 1, 3, 4, 5, 5, 6, 7, 6, 8, 9, 8, 9, 10],
    ),
    # "A forward-repeating bar line without an ending repeat bar"
    ("45g-Repeats-NotEnded.xml", written, [1, 2]),
    # "A 3/8 pickup measure, a measure that is split into one (incomplete, only 2/4) measure and an
    # implicit measure, and an incomplete measure (containing 3/4)"
    ("46d-PickupMeasure-ImplicitMeasures.xml", lengths, ["3/2", "2", "2", "3"]),
    # "the first and third measures contain only two quarters instead of four"
    ("46f-IncompleteMeasures.xml", lambda p: [lengths(p)[0], lengths(p)[2]], ["2", "2"]),
    # "the movement-title should be chosen, even though the work-title exists"
    ("51d-EmptyTitle.xml", lambda p: p.title, "Empty work-title, non-empty movement-title"),
    # "Transposing instruments: all of them show the C major scale"
    ("72a-TransposingInstruments.xml", pitches, [60, 62, 64, 65, 67, 69, 71, 72]),
    # "TAB clef": the staff is read as one of six strings
    ("12ac-Clefs-TAB-Switch.xml", lambda p: p.tuning.string_count, 6),
]


@NEEDS_SUITE
@pytest.mark.parametrize(("name", "read", "expected"), FACTS, ids=[f[0] for f in FACTS])
def test_a_file_says_what_it_describes(
    name: str, read: Callable[[Passage], object], expected: object
) -> None:
    assert read(passage_of(name)) == expected


DOCS = Path(__file__).parents[2] / "docs" / "musicxml.md"
ALWAYS_TOLD = (
    "no string and fret",
    "without a tempo",
    "standard tuning is taken",
    "no time signature",
    "the divisions of a quarter note are not given",
    "its metre",
    "parts",
    "more",
)


def documented() -> dict[str, str]:
    """Read what the docs say of each file: its number, then whether it is kept."""
    table = DOCS.read_text(encoding="utf-8").split("## The public test suite")[1]
    rows = [line.strip("|\n ").split("|") for line in table.split("\n") if line.startswith("| ")]
    return {
        number.strip(): says.strip()
        for numbers, _, says in rows[1:]
        for number in numbers.split(",")
    }


@NEEDS_SUITE
def test_the_docs_tell_of_each_file() -> None:
    assert set(documented()) == {path.name.split("-")[0] for path in FILES}


@NEEDS_SUITE
@pytest.mark.parametrize("path", FILES, ids=lambda path: path.name)
def test_what_the_docs_call_kept_is_read_without_loss(path: Path) -> None:
    says = documented()[path.name.split("-")[0]]
    told = [p.what for p in result_of(path.name).problems]
    lost = [what for what in told if not any(words in what for words in ALWAYS_TOLD)]
    if says == "kept":
        assert lost == []
    elif says.startswith(("in part", "named")):
        assert lost != []
    elif says.startswith("error"):
        assert path.name in BEYOND_A_GUITAR


@NEEDS_SUITE
def test_a_rounded_microtone_an_ornament_and_a_lyric_are_named() -> None:
    def what(name: str) -> str:
        return " ".join(p.what for p in result_of(name).problems)

    assert "rounded" in what("01f-Pitches-ParenthesizedMicrotoneAccidentals.xml")
    assert "`mordent`" in what("32aa-Notations2_Ornaments.xml")
    assert "`lyric`" in what("61b-MultipleLyrics.xml")
    assert "only the part 'Piccolo' (P1) is read" in what("41c-StaffGroups.xml")
    assert "`accordion-registration`" in what("75a-AccordionRegistrations.xml")
