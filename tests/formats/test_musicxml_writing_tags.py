"""What stands in a written file, sign by sign, held against the words of the standard.

Quotations are from the documentation in the W3C schema of MusicXML 4.0.
"""

from collections.abc import Sequence
from fractions import Fraction
from typing import Any

import pytest
from lxml import etree
from lxml.etree import _Element as Element
from tests.formats.musicxml_schema import faults

from riffract.formats.musicxml import read_musicxml
from riffract.formats.musicxml.writing import write_musicxml
from riffract.formats.musicxml.writing.note_values import note_values
from riffract.music import (
    Bar,
    Grace,
    Metre,
    NoteTableBuilder,
    Passage,
    Proposed,
    Section,
    Span,
    Technique,
    TempoMark,
    Tuning,
    bars_in_row,
)

FOUR = Metre(groups=(4,), unit=4)
GUITAR = Tuning(open_pitches=(40, 45, 50, 55, 59, 64))
Q = Fraction


def struck(onset: Fraction | int, duration: Fraction | int, string: int, fret: int, **more: Any):
    """Say a note; its pitch is that of its place unless another one is said."""
    note = {"pitch": GUITAR.pitch_at(string, fret), **more}
    return {
        "onset_quarters": Q(onset),
        "duration_quarters": Q(duration),
        "string": string,
        "fret": fret,
        **note,
    }


def passage(*notes: dict[str, Any], bars: Sequence[Bar] | None = None, **more: Any) -> Passage:
    builder = NoteTableBuilder()
    for one in notes:
        builder.add(**one)
    rest: dict[str, Any] = {
        "title": "",
        "tuning": GUITAR,
        "tempos": (TempoMark(at_quarters=Q(0), quarters_per_minute=90.0),),
        **more,
    }
    return Passage(
        bars=tuple(bars or bars_in_row([(FOUR, None, 1), (FOUR, None, 2)])),
        notes=builder.build(),
        **rest,
    )


def written(played: Passage, *, notation: bool = False) -> Element:
    data = write_musicxml(played, notation=notation)
    assert faults(data) == []
    return etree.fromstring(data)


def shown(tag: Element | None) -> str:
    """Write a tag in one line, without the spaces of the layout."""
    assert tag is not None
    return "".join(
        line.strip()
        for line in etree.tostring(tag, encoding="unicode", with_tail=False).split("\n")
    )


def all_shown(root: Element, path: str) -> list[str]:
    return [shown(tag) for tag in root.iterfind(f".//{path}")]


def sounding(root: Element) -> list[Element]:
    return [note for note in root.iter("note") if note.find("rest") is None]


# --- the instrument -----------------------------------------------------------------------------


def test_lines_of_the_tab_are_tuned_from_the_bottom_without_the_capo() -> None:
    # `staff-tuning`: "the open, non-capo tuning of the lines on a tablature staff"; `capo`
    # "changes the open tuning of the strings specified by staff-tuning by the specified number".
    drop_d = Tuning(open_pitches=(38, 45, 50, 55, 59, 64), capo=2)
    details = written(passage(tuning=drop_d)).find(".//staff-details")
    assert shown(details) == (
        "<staff-details><staff-lines>6</staff-lines>"
        + "".join(
            f'<staff-tuning line="{line}"><tuning-step>{step}</tuning-step>'
            f"<tuning-octave>{octave}</tuning-octave></staff-tuning>"
            for line, (step, octave) in enumerate(
                (("D", 2), ("A", 2), ("D", 3), ("G", 3), ("B", 3), ("E", 4)), start=1
            )
        )
        + "<capo>2</capo></staff-details>"
    )


def test_pitches_are_written_an_octave_up_and_transpose_says_so() -> None:
    # `transpose`: "what must be added to a written pitch to get a correct sounding pitch".
    root = written(passage(struck(0, 4, 6, 0)))
    assert shown(root.find(".//transpose")) == (
        "<transpose><diatonic>0</diatonic><chromatic>0</chromatic>"
        "<octave-change>-1</octave-change></transpose>"
    )
    assert all_shown(root, "pitch") == ["<pitch><step>E</step><octave>3</octave></pitch>"]


@pytest.mark.parametrize(
    ("tuning", "clefs"),
    [(GUITAR, ["G", "TAB"]), (Tuning(open_pitches=(28, 33, 38, 43)), ["F", "TAB"])],
)
def test_notation_over_the_tab_has_the_clef_of_the_instrument(
    tuning: Tuning, clefs: list[str]
) -> None:
    # Common practice: guitars read the treble clef, basses the bass clef, both an octave down.
    root = written(passage(tuning=tuning), notation=True)
    assert [clef.findtext("sign") for clef in root.iter("clef")] == clefs
    assert root.findtext(".//staves") == "2"


def test_strings_and_frets_stand_on_the_tab_only() -> None:
    root = written(passage(struck(0, 4, 6, 3)), notation=True)
    places = [(note.findtext("staff"), note.find(".//fret") is not None) for note in sounding(root)]
    assert places == [("1", False), ("2", True)]


def test_what_the_standard_has_no_tag_for_stands_in_fields() -> None:
    # `miscellaneous-field`: for "metadata not yet supported in the MusicXML format".
    neck = Tuning(open_pitches=GUITAR.open_pitches, frets=22, scale_length_mm=628.65)
    root = written(passage(tuning=neck, proposed=(Proposed.FINGERING, Proposed.TIME)))
    fields = {tag.get("name"): tag.text for tag in root.iter("miscellaneous-field")}
    assert fields == {"frets": "22", "scale-length-mm": "628.65", "proposed": "fingering time"}


# --- time ---------------------------------------------------------------------------------------


def test_divisions_are_as_few_as_hold_all_times() -> None:
    # `divisions`: "how many divisions per quarter note"; they "must be chosen to take tuplets into
    # account".
    root = written(passage(struck(0, Q(1, 3), 6, 0), struck(1, Q(1, 4), 6, 0)))
    assert root.findtext(".//divisions") == "12"


@pytest.mark.parametrize(
    ("quarters", "values"),
    [
        (Q(4), [("whole", 0, 1, 1)]),
        (Q(3, 2), [("quarter", 1, 1, 1)]),
        (Q(7, 4), [("quarter", 2, 1, 1)]),
        (Q(5, 2), [("half", 0, 1, 1), ("eighth", 0, 1, 1)]),
        (Q(1, 3), [("eighth", 0, 3, 2)]),
        (Q(2, 5), [("eighth", 0, 5, 4)]),
        (Q(1, 7), [("16th", 0, 7, 4)]),
        (Q(1, 15), [("32nd", 0, 15, 8)]),
        (Q(1, 1000), [("1024th", 0, 125, 32)]),
    ],
)
def test_any_time_is_note_values_tied(
    quarters: Fraction, values: list[tuple[str, int, int, int]]
) -> None:
    # Common practice: tuplets of q notes in the time of the next lower power of two.
    found = note_values(quarters)
    assert [(v.kind, v.dots, v.actual, v.normal) for v in found] == values
    assert sum(v.quarters for v in found) == quarters


@pytest.mark.parametrize("denominator", [1, 2, 3, 5, 7, 9, 11, 13, 64, 96, 1000, 1024, 4096])
def test_note_values_add_up_exactly(denominator: int) -> None:
    for numerator in range(1, 200):
        quarters = Q(numerator, denominator)
        assert sum(value.quarters for value in note_values(quarters)) == quarters


def test_a_note_over_the_bar_line_is_tied() -> None:
    # "The tied element represents the notated tie. The tie element represents the tie sound."
    root = written(passage(struck(3, 2, 6, 0)))
    ties = [[tie.get("type") for tie in note.iter("tie", "tied")] for note in sounding(root)]
    assert ties == [["start", "start"], ["stop", "stop"]]


def test_triplets_have_a_ratio_and_a_bracket() -> None:
    # `actual-notes`: "how many notes are played in the time usually occupied by" `normal-notes`.
    root = written(passage(*(struck(Q(n, 3), Q(1, 3), 6, n) for n in range(3))))
    first, second, third = sounding(root)
    assert shown(first.find("time-modification")) == (
        "<time-modification><actual-notes>3</actual-notes><normal-notes>2</normal-notes>"
        "</time-modification>"
    )
    brackets = [[t.get("type") for t in note.iter("tuplet")] for note in (first, second, third)]
    assert brackets == [["start"], [], ["stop"]]


def test_notes_of_different_lengths_are_voices_with_backup() -> None:
    # "The duration element moves the musical position when used in backup elements, forward
    # elements, and note elements that do not contain a chord child element."
    root = written(
        passage(
            struck(0, 4, 6, 0),
            struck(0, 1, 1, 0),
            struck(1, 3, 1, 1),
            bars=bars_in_row([(FOUR, None, 1)]),
        )
    )
    (measure,) = root.iter("measure")
    steps = [
        (tag.tag, tag.findtext("duration"), tag.findtext("voice"), tag.findtext(".//string"))
        for tag in measure
        if tag.tag in {"note", "backup", "forward"}
    ]
    assert steps == [
        ("note", "1", "1", "1"),
        ("note", "3", "1", "1"),
        ("backup", "4", None, None),
        ("note", "4", "2", "6"),
    ]


def test_notes_that_start_and_end_together_are_a_chord() -> None:
    root = written(passage(struck(0, 4, 6, 3), struck(0, 4, 5, 2), struck(0, 4, 4, 0)))
    assert [note.find("chord") is not None for note in sounding(root)] == [False, True, True]


def test_grouping_stands_in_the_beats() -> None:
    # "A composite such as 3+2/8 requires only one beat/beat-type pair."
    root = written(passage(bars=bars_in_row([(Metre(groups=(3, 3, 2), unit=8), None, 1)])))
    assert all_shown(root, "time") == ["<time><beats>3+3+2</beats><beat-type>8</beat-type></time>"]


def test_a_metre_is_written_where_it_changes() -> None:
    seven = Metre(groups=(7,), unit=8)
    root = written(passage(bars=bars_in_row([(FOUR, None, 1), (FOUR, None, 2), (seven, None, 3)])))
    assert [len(m.findall("attributes/time")) for m in root.iter("measure")] == [1, 0, 1]


def test_a_pick_up_is_bar_0_and_implicit() -> None:
    # "For a pickup measure, the number attribute is typically set to "0" and the implicit
    # attribute is typically set to "yes"."
    root = written(
        passage(struck(0, 1, 6, 0), bars=bars_in_row([(FOUR, Q(1), 1), (FOUR, None, 2)]))
    )
    numbers = [(m.get("number"), m.get("implicit")) for m in root.iter("measure")]
    assert numbers == [("0", "yes"), ("1", None)]


def test_a_free_bar_has_no_time_signature() -> None:
    # `senza-misura` "explicitly indicates that no time signature is present"; the one before it
    # tells a reader the unit of the beats, and is not printed.
    free = Bar(
        number=1,
        written_number=1,
        start_quarters=Q(0),
        length_quarters=Q(5, 2),
        metre=FOUR,
        is_free=True,
    )
    root = written(passage(struck(0, Q(5, 2), 6, 0), bars=[free]))
    assert all_shown(root, "time") == [
        '<time print-object="no"><beats>4</beats><beat-type>4</beat-type></time>',
        "<time><senza-misura/></time>",
    ]


def test_an_empty_bar_is_one_rest() -> None:
    root = written(passage())
    assert all_shown(root, "rest") == ['<rest measure="yes"/>'] * 2


# --- marks over the notes -----------------------------------------------------------------------


def test_a_tempo_is_printed_and_sounds() -> None:
    # `sound`: "Tempo is expressed in quarter notes per minute."
    root = written(passage())
    (direction,) = root.iter("direction")
    assert shown(direction.find("direction-type")) == (
        "<direction-type><metronome><beat-unit>quarter</beat-unit><per-minute>90</per-minute>"
        "</metronome></direction-type>"
    )
    assert shown(direction.find("sound")) == '<sound tempo="90.0"/>'


def test_a_tempo_within_a_note_is_moved_there_by_an_offset() -> None:
    tempos = [(Q(0), 90.0), (Q(3, 2), 60.0)]
    root = written(
        passage(
            struck(0, 4, 6, 0),
            tempos=tuple(TempoMark(at_quarters=at, quarters_per_minute=n) for at, n in tempos),
        )
    )
    assert all_shown(root, "offset") == ['<offset sound="yes">3</offset>']


@pytest.mark.parametrize(("goal", "words"), [(120.0, "accel."), (60.0, "rit.")])
def test_a_ramp_is_words_with_a_line_to_the_next_tempo(goal: float, words: str) -> None:
    # Common practice: accelerando and ritardando, with dashes as far as they hold.
    ramp = TempoMark(at_quarters=Q(0), quarters_per_minute=90.0, is_ramp=True)
    root = written(passage(tempos=(ramp, TempoMark(at_quarters=Q(4), quarters_per_minute=goal))))
    assert [tag.text for tag in root.iter("words")] == [words]
    ends = [
        (m.get("number"), tag.get("type")) for m in root.iter("measure") for tag in m.iter("dashes")
    ]
    assert ends == [("1", "start"), ("2", "stop")]


def test_a_ramp_that_is_stated_again_starts_anew_there() -> None:
    # From 60 to 60 nothing changes; only from the second mark on the music gets faster.
    ramps = [(Q(0), 60.0, True), (Q(3), 60.0, True), (Q(5), 90.0, False)]
    marks = tuple(
        TempoMark(at_quarters=at, quarters_per_minute=speed, is_ramp=is_ramp)
        for at, speed, is_ramp in ramps
    )
    back = read_musicxml(write_musicxml(passage(tempos=marks))).passage
    assert back is not None
    assert back.tempos == marks


def test_sections_are_rehearsal_marks_with_a_bracket_where_none_follows() -> None:
    def section(label: str, start: int, end: int) -> Section:
        return Section(label=label, span=Span(Q(start), Q(end)))

    root = written(passage(sections=(section("A", 0, 2), section("B", 2, 4))))
    assert [tag.text for tag in root.iter("rehearsal")] == ["A", "B"]
    assert [tag.get("type") for tag in root.iter("bracket")] == ["start", "stop"]


def test_palm_mute_is_played_note_by_note_and_seen_as_a_line() -> None:
    # `play`: "When used as part of a note element, it applies to the current note only."
    muted = [struck(n, 1, 6, 0, techniques=Technique.PALM_MUTE) for n in range(2)]
    root = written(passage(*muted, struck(2, 2, 6, 0)))
    assert all_shown(root, "play") == ["<play><mute>palm</mute></play>"] * 2
    (measure, _) = root.iter("measure")
    order = [
        tag.findtext(".//words") or tag.find(".//dashes") is not None or "note"
        for tag in measure
        if tag.tag == "note" or tag.find(".//dashes") is not None
    ]
    assert order == ["P.M.", "note", "note", True, "note"]


# --- how a note is played -----------------------------------------------------------------------

SINGLE = [
    (Technique.ACCENT, "articulations", "<accent/>"),
    (Technique.STACCATO, "articulations", "<staccato/>"),
    (Technique.SCOOP, "articulations", "<scoop/>"),
    (Technique.PLOP, "articulations", "<plop/>"),
    (Technique.DOIT, "articulations", "<doit/>"),
    (Technique.FALLOFF, "articulations", "<falloff/>"),
    (Technique.DOWN_STROKE, "technical", "<down-bow/>"),
    (Technique.UP_STROKE, "technical", "<up-bow/>"),
    (Technique.TAP, "technical", '<tap hand="right">T</tap>'),
    (Technique.LET_RING, "notations", '<tied type="let-ring"/>'),
    (
        Technique.VIBRATO,
        "ornaments",
        '<wavy-line type="start" number="1"/><wavy-line type="stop" number="1"/>',
    ),
]


@pytest.mark.parametrize(
    ("technique", "group", "sign"), SINGLE, ids=[technique.labels[0] for technique, _, _ in SINGLE]
)
def test_each_technique_has_the_sign_of_the_standard(
    technique: Technique, group: str, sign: str
) -> None:
    root = written(passage(struck(0, 8, 6, 0, techniques=technique)))
    signs = [text for text in all_shown(root, group) if sign in text]
    held = technique is Technique.VIBRATO  # a held note goes on being shaken behind the bar line
    assert len(signs) == (2 if held else 1)


@pytest.mark.parametrize(
    ("way", "steps"),
    [
        ((0, 200), [("2", None)]),
        ((0, 50), [("0.5", None)]),
        ((200,), [("2", "pre-bend")]),
        ((0,), [("0", "pre-bend")]),
        ((100, 100), [("1", "pre-bend"), ("0", None)]),
        ((0, 200, 0), [("2", None), ("-2", "release")]),
        ((200, 0), [("2", "pre-bend"), ("-2", "release")]),
        ((0, 100, 200), [("1", None), ("1", None)]),
        ((0, -100, 0), [("-1", None), ("1", "release")]),
    ],
)
def test_bends_are_written_step_by_step(
    way: tuple[int, ...], steps: list[tuple[str, str | None]]
) -> None:
    # "A single note with a bend and release will contain two bend elements"; "Because the
    # bend-alter element represents the number of steps in the bend, a release after a bend has a
    # negative bend-alter value, not a zero value."
    root = written(passage(struck(0, 4, 3, 7, bend=way)))
    found = [
        (
            bend.findtext("bend-alter"),
            next((tag.tag for tag in bend.iter("pre-bend", "release")), None),
        )
        for bend in root.iter("bend")
    ]
    assert found == steps


def test_a_string_that_sinks_below_its_fret_is_lowered_by_the_bar() -> None:
    # `with-bar`: "the bend is to be done at the bridge with a whammy or vibrato bar".
    root = written(passage(struck(0, 4, 3, 7, bend=(-100, 0)), struck(4, 4, 3, 7, bend=(0, 100))))
    first, second = sounding(root)
    assert [len(list(note.iter("with-bar"))) for note in (first, second)] == [2, 0]


def test_a_legato_sign_starts_on_the_note_before_on_its_string() -> None:
    root = written(
        passage(
            struck(0, 1, 3, 5),
            struck(1, 1, 1, 5),
            struck(2, 2, 3, 7, techniques=Technique.HAMMER_ON | Technique.SLIDE),
        )
    )
    ends = [
        [(tag.tag, tag.get("type"), tag.get("number")) for tag in note.iter("hammer-on", "slide")]
        for note in sounding(root)
    ]
    assert ends == [
        [("slide", "start", "3"), ("hammer-on", "start", "3")],
        [],
        [("slide", "stop", "3"), ("hammer-on", "stop", "3")],
    ]


def test_a_natural_harmonic_is_written_at_its_sounding_pitch() -> None:
    # `sounding-pitch`: "the pitch which is heard when playing the harmonic".
    root = written(passage(struck(0, 4, 6, 7, pitch=59, techniques=Technique.NATURAL_HARMONIC)))
    assert all_shown(root, "harmonic") == ["<harmonic><natural/><sounding-pitch/></harmonic>"]
    assert all_shown(root, "pitch") == ["<pitch><step>B</step><octave>4</octave></pitch>"]
    assert root.findtext(".//fret") == "7"


def test_an_artificial_harmonic_shows_where_it_is_touched() -> None:
    # "Artificial harmonics can add a notated touching pitch; artificial pinch harmonics will
    # usually not notate a touching pitch."
    techniques = Technique.ARTIFICIAL_HARMONIC
    root = written(passage(struck(0, 4, 3, 2, pitch=69, techniques=techniques, other_fret=14)))
    first, touched = sounding(root)
    assert shown(first.find(".//harmonic")) == (
        "<harmonic><artificial/><sounding-pitch/></harmonic>"
    )
    assert shown(touched.find(".//harmonic")) == (
        "<harmonic><artificial/><touching-pitch/></harmonic>"
    )
    assert [note.findtext(".//fret") for note in (first, touched)] == ["2", "14"]
    assert touched.find("chord") is not None


def test_a_pinch_harmonic_says_that_it_is_one() -> None:
    root = written(passage(struck(0, 4, 3, 2, pitch=69, techniques=Technique.PINCH_HARMONIC)))
    assert all_shown(root, "harmonic") == ["<harmonic><artificial/><sounding-pitch/></harmonic>"]
    assert root.findtext(".//other-technical") == "P.H."


@pytest.mark.parametrize(("value", "strokes"), [(Q(1), "3"), (Q(1, 2), "2"), (Q(1, 4), "1")])
def test_tremolo_strokes_are_added_to_the_beams(value: Fraction, strokes: str) -> None:
    # "Note that the number of attached beams is not included in this value".
    root = written(passage(struck(0, value, 6, 0, tremolo_marks=3)))
    assert all_shown(root, "tremolo") == [f'<tremolo type="single">{strokes}</tremolo>']


@pytest.mark.parametrize(
    ("marks", "sign"),
    [
        (2, '<tremolo type="single">0</tremolo>'),
        (1, '<tremolo type="unmeasured" smufl="tremolo1">0</tremolo>'),
        (0, '<tremolo type="unmeasured">0</tremolo>'),
    ],
)
def test_tremolo_without_strokes_of_its_own_has_none(marks: int, sign: str) -> None:
    # "The value should be 0 for unmeasured tremolos"; `smufl` is "the glyph to use from the SMuFL
    # Tremolos range for an unmeasured tremolo".
    sixteenth = struck(0, Q(1, 4), 6, 0, techniques=Technique.TREMOLO, tremolo_marks=marks)
    assert all_shown(written(passage(sixteenth)), "tremolo") == [sign]


def test_a_dead_note_has_a_cross_and_a_place() -> None:
    root = written(passage(struck(0, 4, 5, 3, pitch=None, techniques=Technique.DEAD)))
    assert all_shown(root, "notehead") == ["<notehead>x</notehead>"]
    assert all_shown(root, "technical") == [
        "<technical><string>5</string><fret>3</fret></technical>"
    ]


def test_a_string_that_outlasts_its_value_says_so() -> None:
    # `note`: "A note that starts a tie should not have a release attribute".
    ringing = struck(3, 2, 6, 0, techniques=Technique.LET_RING, ring_end_quarters=Q(7))
    root = written(passage(ringing))
    assert [note.get("release") for note in sounding(root)] == [None, "2"]


def test_let_ring_without_a_written_end_needs_no_release() -> None:
    ringing = struck(0, 1, 6, 0, techniques=Technique.LET_RING, ring_end_quarters=Q(8))
    root = written(passage(ringing))
    assert [note.get("release") for note in sounding(root)] == [None]


def test_graces_come_before_their_note_and_last_no_time() -> None:
    # "grace notes do not have a duration element".
    lead = Grace(at_quarters=Q(1), place=0, string=3, fret=5, pitch=60, is_slashed=False)
    root = written(
        passage(
            struck(0, 1, 3, 4), struck(1, 3, 3, 7, techniques=Technique.HAMMER_ON), graces=(lead,)
        )
    )
    before, grace, after = sounding(root)
    assert shown(grace.find("grace")) == '<grace slash="no"/>'
    assert grace.find("duration") is None
    assert grace.findtext("type") == "eighth"
    starts = [[t.get("type") for t in note.iter("hammer-on")] for note in (before, grace, after)]
    assert starts == [[], ["start"], ["stop"]]


def test_a_fermata_within_a_held_note_cuts_it_with_a_tie() -> None:
    root = written(passage(struck(0, 4, 6, 0), fermatas=(Q(3),)))
    held = [
        (note.findtext("duration"), note.find(".//fermata") is not None) for note in sounding(root)
    ]
    assert held == [("3", False), ("1", True)]


def test_a_fermata_over_a_rest_stands_on_the_rest() -> None:
    root = written(passage(struck(0, 1, 6, 0), fermatas=(Q(2),)))
    marked = [note for note in root.iter("note") if note.find(".//fermata") is not None]
    assert [note.find("rest") is not None for note in marked] == [True]


def test_a_fermata_over_the_last_bar_line_stands_on_it() -> None:
    # `barline`: "The two fermata elements allow for fermatas on both sides of the barline".
    root = written(passage(fermatas=(Q(8),)))
    assert all_shown(root, "barline") == [
        '<barline location="right"><bar-style>light-heavy</bar-style><fermata/></barline>'
    ]


# --- two staves ---------------------------------------------------------------------------------


def test_notation_leaves_out_signs_that_the_tab_would_wrongly_take_over() -> None:
    # Our reader matches the staves by moment and pitch class: two E's, of which one has an accent.
    root = written(
        passage(struck(0, 4, 6, 0, techniques=Technique.ACCENT), struck(0, 4, 1, 0)), notation=True
    )
    accented = [
        note.findtext("staff") for note in sounding(root) if note.find(".//accent") is not None
    ]
    assert accented == ["2"]


def test_notation_leaves_out_tremolo_that_differs_on_one_pitch_class() -> None:
    root = written(
        passage(struck(0, 4, 6, 0, tremolo_marks=3), struck(0, 4, 1, 0, tremolo_marks=2)),
        notation=True,
    )
    trembling = [
        note.findtext("staff") for note in sounding(root) if note.find(".//tremolo") is not None
    ]
    assert trembling == ["2", "2"]


def test_notation_shows_the_signs_that_all_may_read() -> None:
    root = written(passage(struck(0, 4, 6, 0, techniques=Technique.ACCENT)), notation=True)
    accented = [
        note.findtext("staff") for note in sounding(root) if note.find(".//accent") is not None
    ]
    assert accented == ["1", "2"]


# --- repeats ------------------------------------------------------------------------------------


def repeated(*numbers: int) -> Passage:
    """Build a passage of bars as played, each with a note of its own."""
    bars = bars_in_row([(FOUR, None, number) for number in numbers])
    return passage(
        *(struck(bar.start_quarters, 4, 6, bar.written_number) for bar in bars), bars=bars
    )


@pytest.mark.parametrize(
    ("numbers", "signs"),
    [
        ((1, 2, 1, 2), [["forward"], ["backward"]]),
        ((1, 1, 1, 2), [["forward", "backward 3"], []]),
        (
            (1, 2, 1, 3),
            [["forward"], ["1 start", "1 stop", "backward"], ["2 start", "2 discontinue"]],
        ),
        (
            (1, 2, 1, 2, 1, 3),
            [["forward"], ["1,2 start", "1,2 stop", "backward"], ["3 start", "3 discontinue"]],
        ),
    ],
)
def test_bars_played_again_are_repeats_and_endings(
    numbers: tuple[int, ...], signs: list[list[str]]
) -> None:
    # `repeat`: "The times and after-jump attributes are only used with backward repeats that are
    # not part of an ending." `ending`: "Discontinue is used when there is no downward jog, as is
    # typical for second endings that do not conclude a piece."
    root = written(repeated(*numbers))
    found = [
        [
            " ".join(
                filter(
                    None,
                    (tag.get("number"), tag.get("type"), tag.get("direction"), tag.get("times")),
                )
            )
            for tag in measure.iter("repeat", "ending")
        ]
        for measure in root.iter("measure")
    ]
    assert found == signs


def test_repeats_are_written_out_on_request() -> None:
    data = write_musicxml(repeated(1, 2, 1, 2), folded=False)
    root = etree.fromstring(data)
    assert len(list(root.iter("measure"))) == 4
    assert list(root.iter("repeat")) == []


# --- what cannot be written ---------------------------------------------------------------------


def test_absurdly_fine_times_are_refused() -> None:
    marks = [TempoMark(at_quarters=Q(0), quarters_per_minute=90.0)]
    marks.append(TempoMark(at_quarters=Q(1, 10**9 + 7), quarters_per_minute=91.0))
    with pytest.raises(ValueError, match="at most 1,000,000,000"):
        write_musicxml(passage(tempos=tuple(marks)))


@pytest.mark.parametrize(
    "beyond",
    [
        passage(struck(7, 2, 6, 0)),
        passage(fermatas=(Q(9),)),
        passage(graces=(Grace(at_quarters=Q(9), place=0, string=3, fret=5, pitch=60),)),
    ],
    ids=["note", "fermata", "grace"],
)
def test_what_lies_behind_the_last_bar_is_refused_rather_than_lost(beyond: Passage) -> None:
    with pytest.raises(ValueError, match="within the bars, which end at 8"):
        write_musicxml(beyond)
