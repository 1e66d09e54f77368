"""How notes are played: signs on notes, lines over notes, and what they mean for the string."""

from fractions import Fraction

import pytest
from tests.formats.musicxml_writing import (
    STANDARD,
    attributes,
    backup,
    note,
    notes_in,
    passage_in,
    problem_about,
    rest,
    rows_in,
    score,
)

from riffract.formats.musicxml import read_musicxml
from riffract.formats.problem import Severity
from riffract.music import Technique

CHORD = "<chord/>"
BEND_AND_RELEASE = (
    "<bend><bend-alter>2</bend-alter></bend><bend><bend-alter>-2</bend-alter><release/></bend>"
)
LET_RING = '<tied type="let-ring"/>'


def direction(*kinds: str, more: str = "") -> str:
    types = "".join(f"<direction-type>{kind}</direction-type>" for kind in kinds)
    return f"<direction>{types}{more}</direction>\n"


def words(text: str) -> str:
    return f"<words>{text}</words>"


def dashes(kind: str, number: int = 1) -> str:
    return f'<dashes type="{kind}" number="{number}"/>'


def techniques(data: bytes) -> list[tuple[str, ...]]:
    return [n.techniques.labels for n in notes_in(data)]


# --- signs on one note --------------------------------------------------------------------------


@pytest.mark.parametrize(
    ("notations", "after", "expected"),
    [
        ("<articulations><accent/></articulations>", "", "accent"),
        ("<articulations><strong-accent/></articulations>", "", "accent"),
        ("<articulations><staccato/></articulations>", "", "staccato"),
        ("<articulations><staccatissimo/></articulations>", "", "staccato"),
        (LET_RING, "", "let_ring"),
        ("", "<play><mute>palm</mute></play>", "palm_mute"),
        ("", "<play><mute>straight</mute></play>", "dead"),
        ("", "<play><other-play type='palm mute'>on</other-play></play>", "palm_mute"),
        ("<technical><other-technical>P.M.</other-technical></technical>", "", "palm_mute"),
        ("<technical><other-technical>let ring</other-technical></technical>", "", "let_ring"),
        ("<technical><other-technical>vibrato</other-technical></technical>", "", "vibrato"),
        (
            "<technical><other-technical smufl='guitarVibratoStroke'/></technical>",
            "",
            "vibrato",
        ),
        ("<ornaments><wavy-line type='start'/><wavy-line type='stop'/></ornaments>", "", "vibrato"),
        ("<other-notation type='single'>dead note</other-notation>", "", "dead"),
    ],
)
def test_a_sign_on_a_note_flags_it_and_no_other(notations: str, after: str, expected: str) -> None:
    data = score(note(3, 5, 8, notations=notations, after=after) + note(2, 5, 8))
    assert techniques(data) == [(expected,), ()]
    assert read_musicxml(data).problems == ()


def test_two_signs_in_two_notations_count_like_two_in_one() -> None:
    # As the test suite's 32c describes.
    apart = (
        "<articulations><accent/></articulations></notations>"
        "<notations><articulations><staccato/></articulations>"
    )
    assert techniques(score(note(3, 5, 16, notations=apart))) == [("accent", "staccato")]


def test_an_x_notehead_and_an_unpitched_note_are_dead() -> None:
    cross = note(4, 0, 8, before="<notehead>x</notehead>")
    unpitched = note(5, 0, 8).replace(
        "<pitch><step>A</step><octave>3</octave></pitch>", "<unpitched/>"
    )
    assert "<unpitched/>" in unpitched
    assert rows_in(score(cross + unpitched), "string", "pitch") == [(4, None), (5, None)]


def test_a_dead_note_needs_no_fret() -> None:
    data = score(note(4, None, 16, pitch=62, before="<notehead>x</notehead>"))
    assert rows_in(data, "string", "fret", "pitch") == [(4, 0, None)]
    assert read_musicxml(data).problems == ()


def test_a_mute_that_is_off_is_no_technique() -> None:
    data = score(note(3, 5, 16, after="<play><mute>off</mute></play>"))
    assert techniques(data) == [()]
    assert read_musicxml(data).problems == ()


# --- bends and harmonics ------------------------------------------------------------------------


@pytest.mark.parametrize(
    ("bends", "cents"),
    [
        ("<bend><bend-alter>2</bend-alter></bend>", 200),
        ("<bend><bend-alter>0.5</bend-alter></bend>", 50),
        ("<bend><bend-alter>1</bend-alter><pre-bend/></bend>", 100),
        ("<bend><bend-alter>-1</bend-alter><pre-bend/></bend>", 100),
        ("<bend><bend-alter>2</bend-alter><release/></bend>", 200),
        # W3C MusicXML 4.0 reference, `bend-alter`: "a release after a bend has a negative value".
        (BEND_AND_RELEASE, 200),
    ],
)
def test_a_bend_is_as_wide_as_its_widest_point(bends: str, cents: int) -> None:
    (bent,) = notes_in(score(note(3, 5, 16, technical=bends)))
    assert (bent.techniques, bent.bend_cents, bent.pitch) == (Technique.BEND, cents, 60)


def test_a_bend_written_at_the_pitch_it_reaches_is_no_disagreement() -> None:
    bend = "<bend><bend-alter>2</bend-alter></bend>"
    assert read_musicxml(score(note(3, 5, 16, pitch=74, technical=bend))).problems == ()


def bend(alter: str, more: str = "") -> str:
    return f"<bend><bend-alter>{alter}</bend-alter>{more}</bend>"


# W3C MusicXML 4.0 reference, `bend`: "a single note with a bend and release will contain two bend
# elements"; `bend-alter`: "negative values indicate pre-bends or releases", "a release after a bend
# has a negative bend-alter value, not a zero value".
WAYS = [
    ([bend("2")], (0, 200)),
    ([bend("0.5")], (0, 50)),
    ([bend("2"), bend("-2", "<release/>")], (0, 200, 0)),
    ([bend("2"), bend("0", "<release/>")], (0, 200, 0)),
    ([bend("2"), bend("-1", "<release/>")], (0, 200, 100)),
    ([bend("2"), bend("-2")], (0, 200, 0)),
    ([bend("1"), bend("1")], (0, 100, 200)),
    ([bend("2", "<pre-bend/>")], (200,)),
    ([bend("-2", "<pre-bend/>"), bend("-2", "<release/>")], (200, 0)),
    ([bend("-2", "<release/>")], (200, 0)),
    ([bend("-2", "<with-bar/>")], (0, -200)),
    ([bend("-2", "<with-bar/>"), bend("2", "<release/><with-bar/>")], (0, -200, 0)),
    ([bend("2"), bend("-2", "<release/>"), bend("2")], (0, 200, 0, 200)),
]


@pytest.mark.parametrize(("bends", "way"), WAYS)
def test_a_bend_is_read_as_the_way_that_it_goes(bends: list[str], way: tuple[int, ...]) -> None:
    data = score(note(3, 5, 16, technical="".join(bends)))
    assert rows_in(data, "bend", "techniques", "fret", "pitch") == [(way, Technique.BEND, 5, 60)]
    assert read_musicxml(data).problems == ()


def test_a_bend_goes_on_under_a_tie() -> None:
    data = score(
        note(3, 5, 8, tied='<tie type="start"/>', technical=bend("2"))
        + note(3, 5, 4, tied='<tie type="stop"/><tie type="start"/>')
        + note(3, 5, 4, tied='<tie type="stop"/>', technical=bend("-2", "<release/>"))
    )
    assert rows_in(data, "duration_quarters", "bend") == [(4, (0, 200, 0))]


def test_when_a_bend_turns_is_told_as_not_kept() -> None:
    bends = bend("2") + bend("-2", '<release offset="2"/>')
    data = score(note(3, 5, 16, technical=bends))
    assert rows_in(data, "bend") == [((0, 200, 0),)]
    assert "turns evenly" in problem_about(read_musicxml(data), "a bend turns").what


@pytest.mark.parametrize("alter", ["", "x", "1e3", "99"])
def test_a_bend_without_a_usable_width_is_told(alter: str) -> None:
    data = score(note(3, 5, 16, technical=bend(alter)))
    assert rows_in(data, "bend") == [((),)]
    assert problem_about(read_musicxml(data), "a bend without a usable width").line == 8


# Modes of an ideal string: touched at 1/p it sounds p times as fast, 12 log2 p semitones higher;
# rounded to semitones 12, 19, 24, 28, 31 (common practice for the 12th, 7th, 5th, 4th, 3rd fret).
HARMONICS = [(12, 12), (7, 19), (19, 19), (5, 24), (24, 24), (4, 28), (9, 28), (16, 28), (3, 31)]


@pytest.mark.parametrize(("fret", "above_open"), HARMONICS)
def test_a_natural_harmonic_sounds_at_the_node_it_touches(fret: int, above_open: int) -> None:
    harmonic = "<harmonic><natural/></harmonic>"
    (played,) = notes_in(score(note(6, fret, 16, technical=harmonic)))
    assert played.techniques is Technique.NATURAL_HARMONIC
    assert (played.fret, played.pitch) == (fret, 40 + above_open)


@pytest.mark.parametrize(
    ("said", "written"),
    [("<sounding-pitch/>", 59 + 12), ("<touching-pitch/>", 47 + 12), ("<base-pitch/>", 40 + 12)],
)
def test_what_the_written_pitch_of_a_harmonic_means_is_respected(said: str, written: int) -> None:
    harmonic = f"<harmonic><natural/>{said}</harmonic>"
    (played,) = notes_in(score(note(6, 7, 16, pitch=written, technical=harmonic)))
    assert played.pitch == 59


def test_the_sounding_pitch_of_a_harmonic_wins_over_the_fret() -> None:
    harmonic = "<harmonic><natural/><sounding-pitch/></harmonic>"
    (played,) = notes_in(score(note(6, 2, 16, pitch=74 + 12, technical=harmonic)))
    assert played.pitch == 74


def test_a_harmonic_written_as_three_notes_is_one() -> None:
    def part(said: str, pitch: int, fret: int, first: str = "") -> str:
        harmonic = f"<harmonic><natural/><{said}-pitch/></harmonic>"
        return note(6, fret, 16, pitch=pitch + 12, technical=harmonic, first=first)

    data = score(
        part("base", 40, 0) + part("touching", 47, 7, CHORD) + part("sounding", 59, 7, CHORD)
    )
    assert rows_in(data, "string", "fret", "pitch") == [(6, 7, 59)]


def test_a_node_beside_a_fret_is_named_by_the_nearest_fret() -> None:
    data = score(note(6, 3, 16, technical="<harmonic><natural/></harmonic>")).decode()
    data = data.replace("<fret>3<", "<fret>3.2<")
    assert rows_in(data.encode(), "fret", "pitch") == [(3, 40 + 31)]


def test_a_fret_without_a_node_takes_the_written_pitch() -> None:
    data = score(note(6, 1, 16, pitch=76, technical="<harmonic><natural/></harmonic>"))
    assert rows_in(data, "pitch") == [(64,)]
    assert "no natural harmonic lies over fret 1" in read_musicxml(data).problems[0].what


ARTIFICIAL, PINCHED = Technique.ARTIFICIAL_HARMONIC, Technique.PINCH_HARMONIC


def artificial(said: str) -> str:
    return f"<harmonic><artificial/>{said}</harmonic>"


def touched(fret: int, string: int = 4) -> str:
    return note(string, fret, 16, first="<chord/>", technical=artificial("<touching-pitch/>"))


# Modes of an ideal string, as above, over the stopped fret instead of the nut.
@pytest.mark.parametrize(("above", "semitones"), [(12, 12), (7, 19), (5, 24), (4, 28)])
def test_an_artificial_harmonic_is_stopped_and_touched(above: int, semitones: int) -> None:
    base = note(4, 2, 16, technical=artificial("<base-pitch/>"))
    sounding = note(
        None,
        None,
        16,
        pitch=52 + semitones + 12,
        first="<chord/>",
        technical=artificial("<sounding-pitch/>"),
    )
    for heads in (base + touched(2 + above), base + touched(2 + above) + sounding):
        data = score(heads)
        assert read_musicxml(data).problems == ()
        assert rows_in(data, "string", "fret", "other_fret", "pitch", "techniques") == [
            (4, 2, 2 + above, 52 + semitones, ARTIFICIAL)
        ]


def test_an_artificial_harmonic_with_only_its_sounding_pitch_sounds_there() -> None:
    data = score(note(6, 2, 16, pitch=66, technical=artificial("<sounding-pitch/>")))
    assert read_musicxml(data).problems == ()
    assert rows_in(data, "fret", "other_fret", "pitch", "techniques") == [(2, None, 54, ARTIFICIAL)]


def test_an_artificial_harmonic_that_names_no_node_is_touched_at_the_octave_and_told() -> None:
    data = score(note(6, 2, 16, technical=artificial("<base-pitch/>")))
    assert rows_in(data, "fret", "other_fret", "pitch") == [(2, 14, 54)]
    assert "an octave above" in problem_about(read_musicxml(data), "is touched").what


def test_an_artificial_harmonic_without_a_place_is_stopped_at_its_base() -> None:
    heads = (
        note(None, None, 16, pitch=52 + 12, technical=artificial("<base-pitch/>")),
        note(
            None,
            None,
            16,
            pitch=57 + 12,
            first="<chord/>",
            technical=artificial("<touching-pitch/>"),
        ),
        note(
            None,
            None,
            16,
            pitch=76 + 12,
            first="<chord/>",
            technical=artificial("<sounding-pitch/>"),
        ),
    )
    (played,) = notes_in(score("".join(heads)))
    assert passage_in(score("".join(heads))).tuning.pitch_at(played.string, played.fret) == 52
    assert (played.other_fret, played.pitch) == (played.fret + 5, 76)


def test_a_pinch_harmonic_is_told_by_its_letters() -> None:
    letters = "<other-technical>P.H.</other-technical>"
    plain = note(6, 2, 8, technical=artificial("<base-pitch/>") + letters)
    heard = note(6, 2, 8, pitch=61 + 12, technical=artificial("<sounding-pitch/>") + letters)
    data = score(plain + heard)
    assert read_musicxml(data).problems == ()
    assert rows_in(data, "pitch", "techniques") == [(42, PINCHED), (61, PINCHED)]


def test_a_tapped_harmonic_is_both() -> None:
    tapped = note(4, 2, 16, technical='<tap hand="right"/>' + artificial("<base-pitch/>"))
    assert rows_in(score(tapped + touched(14)), "other_fret", "pitch", "techniques") == [
        (14, 64, Technique.TAP | ARTIFICIAL)
    ]


# --- strokes, taps, ornaments -------------------------------------------------------------------


# W3C MusicXML 4.0 reference: `down-bow` is "both for down-bowing on bowed instruments, and
# down-stroke on plucked instruments"; `scoop`, `plop`, `doit`, `falloff` are the model's own words.
SINGLE_SIGNS = [
    ("<technical><down-bow/></technical>", Technique.DOWN_STROKE),
    ("<technical><up-bow/></technical>", Technique.UP_STROKE),
    ("<technical><tap>T</tap></technical>", Technique.TAP),
    ('<technical><tap hand="right"/></technical>', Technique.TAP),
    ('<technical><tap hand="left"/></technical>', Technique.HAMMER_ON),
    ("<articulations><scoop/></articulations>", Technique.SCOOP),
    ("<articulations><plop/></articulations>", Technique.PLOP),
    ("<articulations><doit/></articulations>", Technique.DOIT),
    ("<articulations><falloff/></articulations>", Technique.FALLOFF),
    ("<articulations><strong-accent/></articulations>", Technique.ACCENT),
]


@pytest.mark.parametrize(("sign", "technique"), SINGLE_SIGNS)
def test_a_sign_on_a_note_is_its_technique(sign: str, technique: Technique) -> None:
    data = score(note(3, 5, 16, notations=sign))
    assert rows_in(data, "techniques") == [(technique,)]
    assert read_musicxml(data).problems == ()


def tremolo(text: str, more: str = "") -> str:
    return f"<ornaments><tremolo{more}>{text}</tremolo></ornaments>"


# W3C MusicXML 4.0 reference, `tremolo`: beams are not included in the number; common practice:
# one beam or stroke for eighths, two for sixteenths, three for thirty-seconds.
@pytest.mark.parametrize(
    ("kind", "strokes", "marks"),
    [("whole", 3, 3), ("quarter", 2, 2), ("eighth", 2, 3), ("16th", 1, 3), ("16th", 0, 2)],
)
def test_tremolo_strokes_and_beams_say_how_fast(kind: str, strokes: int, marks: int) -> None:
    data = score(note(3, 5, 16, before=f"<type>{kind}</type>", notations=tremolo(str(strokes))))
    assert rows_in(data, "tremolo_marks", "techniques") == [(marks, Technique.TREMOLO)]


def test_a_tremolo_without_measure_has_no_marks() -> None:
    data = score(note(3, 5, 16, notations=tremolo("0", ' type="unmeasured"')))
    assert rows_in(data, "tremolo_marks", "techniques") == [(0, Technique.TREMOLO)]


def test_a_tremolo_between_two_notes_is_named() -> None:
    data = score(note(3, 5, 16, notations=tremolo("3", ' type="start"')))
    assert rows_in(data, "techniques") == [(Technique(0),)]
    assert "'start'" in problem_about(read_musicxml(data), "`tremolo`").what


def trilled(more: str = "", step: str = "") -> str:
    return f"<ornaments><trill-mark{step}/>{more}</ornaments>"


def in_key(fifths: int) -> str:
    return attributes(more=f"<key><fifths>{fifths}</fifths></key>")


# Common practice: the upper note of a trill is the next one of the scale, unless an accidental
# stands beside it. Here B on string 3, fret 4 (C natural in no key, C sharp in D major), and D on
# string 2, fret 3.
TRILLS = [
    pytest.param(note(3, 4, 16, notations=trilled()), 0, 5, id="B to C in C major"),
    pytest.param(note(3, 4, 16, notations=trilled()), 2, 6, id="B to C sharp in D major"),
    pytest.param(note(2, 3, 16, notations=trilled()), 0, 5, id="D to E in C major"),
    pytest.param(note(2, 3, 16, notations=trilled()), -2, 4, id="D to E flat in B flat major"),
]


@pytest.mark.parametrize(("text", "fifths", "other"), TRILLS)
def test_a_trill_goes_to_the_next_note_of_the_key_and_says_so(
    text: str, fifths: int, other: int
) -> None:
    data = score(text, start=in_key(fifths))
    assert rows_in(data, "other_fret", "techniques") == [(other, Technique.TRILL)]
    assert "next note of the key" in problem_about(read_musicxml(data), "a trill").what


@pytest.mark.parametrize(
    ("notations", "other"),
    [
        (trilled("<accidental-mark>flat</accidental-mark>"), 4),
        (trilled("<accidental-mark>natural</accidental-mark>"), 5),
        (trilled("<accidental-mark>sharp</accidental-mark>"), 6),
        (trilled(step=' trill-step="half"'), 4),
        (trilled(step=' trill-step="whole"'), 5),
        (trilled() + "<technical><other-technical>(7)</other-technical></technical>", 7),
        (trilled() + "<technical><other-technical>(?)</other-technical></technical>", None),
    ],
)
def test_a_trill_that_says_where_it_goes_goes_there(notations: str, other: int | None) -> None:
    data = score(note(2, 3, 16, notations=notations))
    assert rows_in(data, "other_fret") == [(other,)]
    assert read_musicxml(data).problems == ()


# --- legato -------------------------------------------------------------------------------------


def joined(tag: str, kind: str) -> str:
    sign = f'<{tag} type="{kind}" number="1"/>'
    return f"<technical>{sign}</technical>" if tag in {"hammer-on", "pull-off"} else sign


@pytest.mark.parametrize(
    ("tag", "technique"),
    [
        ("hammer-on", Technique.HAMMER_ON),
        ("pull-off", Technique.PULL_OFF),
        ("slide", Technique.SLIDE),
        ("glissando", Technique.SLIDE),
    ],
)
def test_a_sign_between_two_notes_belongs_to_the_one_it_leads_to(
    tag: str, technique: Technique
) -> None:
    data = score(
        note(3, 5, 8, notations=joined(tag, "start")) + note(3, 7, 8, notations=joined(tag, "stop"))
    )
    assert [n.techniques for n in notes_in(data)] == [Technique(0), technique]
    assert read_musicxml(data).problems == ()


def test_a_chain_of_hammer_ons_and_pull_offs() -> None:
    both = '<hammer-on type="stop" number="1"/><pull-off type="start" number="2"/>'
    data = score(
        note(3, 5, 4, technical='<hammer-on type="start" number="1"/>')
        + note(3, 7, 4, technical=both)
        + note(3, 5, 8, technical='<pull-off type="stop" number="2"/>')
    )
    assert techniques(data) == [(), ("hammer_on",), ("pull_off",)]


def test_a_hammer_on_without_an_end_leads_to_the_next_note_on_its_string() -> None:
    start = '<hammer-on type="start"/>'
    data = score(note(3, 5, 4, technical=start) + note(3, 7, 4) + note(2, 5, 8))
    assert techniques(data) == [(), ("hammer_on",), ()]


def test_legato_on_two_strings_at_once() -> None:
    start, stop = '<hammer-on type="start"/>', '<hammer-on type="stop"/>'
    data = score(
        note(3, 5, 8, technical=start)
        + note(2, 5, 8, technical=start, first=CHORD)
        + note(3, 7, 8, technical=stop)
        + note(2, 7, 8, technical=stop, first=CHORD)
    )
    assert techniques(data) == [(), (), ("hammer_on",), ("hammer_on",)]
    assert read_musicxml(data).problems == ()


def test_slides_from_or_to_nowhere_are_told() -> None:
    data = score(
        note(3, 5, 8, notations='<slide type="stop"/>')
        + note(3, 7, 8, notations='<slide type="start"/>')
    )
    assert techniques(data) == [("slide",), ()]
    assert [p.what for p in read_musicxml(data).problems] == [
        "a slide ends here, but starts nowhere; where it comes from is left open",
        "`slide to nowhere` is not read; it is left out",
    ]


def test_a_slur_between_two_frets_is_no_technique() -> None:
    data = score(
        note(3, 5, 8, notations='<slur type="start"/>')
        + note(3, 7, 8, notations='<slur type="stop"/>')
    )
    assert techniques(data) == [(), ()]
    assert problem_about(read_musicxml(data), "a slur is not read").place == "bar 1, beat 3"


def test_a_cue_note_is_told_and_left_out() -> None:
    data = score(note(3, 7, 12) + note(3, 9, 4, first="<cue/>"))
    assert rows_in(data, "fret") == [(7,)]
    assert problem_about(read_musicxml(data), "a cue note is left out").place == "bar 1, beat 4"


# --- lines over notes ---------------------------------------------------------------------------


@pytest.mark.parametrize("text", ["P.M.", "PM", "p.m.", "P. M.", "palm mute", "P.M. - - - -|"])
def test_words_with_dashes_hold_as_far_as_the_dashes(text: str) -> None:
    data = score(
        direction(words(text), dashes("start"))
        + note(6, 0, 4)
        + note(6, 1, 4)
        + direction(dashes("stop"))
        + note(6, 0, 8)
    )
    assert techniques(data) == [("palm_mute",), ("palm_mute",), ()]
    assert read_musicxml(data).problems == ()


def test_a_bracket_is_a_line_as_well_and_may_cross_bars() -> None:
    data = score(
        note(6, 0, 8)
        + direction(words("P.M."), '<bracket type="start" line-end="down"/>')
        + note(6, 1, 8),
        note(6, 0, 8) + direction('<bracket type="stop" line-end="down"/>') + note(6, 3, 8),
    )
    assert techniques(data) == [(), ("palm_mute",), ("palm_mute",), ()]


def test_the_same_line_over_staff_and_tab_is_one_line() -> None:
    def over(staff: int, *kinds: str) -> str:
        return direction(*kinds, more=f"<staff>{staff}</staff>")

    starts = [over(staff, words("P.M."), dashes("start")) for staff in (1, 2)]
    stops = [over(staff, dashes("stop")) for staff in (1, 2)]
    data = score("".join(starts) + note(6, 0, 16), note(6, 0, 8) + "".join(stops) + note(6, 0, 8))
    assert techniques(data) == [("palm_mute",), ("palm_mute",), ()]
    assert read_musicxml(data).problems == ()


def test_dashes_in_a_direction_of_their_own_belong_to_the_words_at_the_same_place() -> None:
    data = score(
        direction(dashes("start"))
        + direction(words("P.M."))
        + note(6, 0, 8)
        + note(6, 1, 4)
        + direction(dashes("stop"), more="<offset>-4</offset>")
        + note(6, 0, 4)
    )
    assert techniques(data) == [("palm_mute",), (), ()]


def test_words_without_a_line_hold_for_the_notes_that_start_there() -> None:
    data = score(
        direction(words("P.M.")) + note(6, 0, 8) + note(5, 2, 8, first=CHORD) + note(6, 1, 8)
    )
    assert techniques(data) == [("palm_mute",), ("palm_mute",), ()]
    assert "no line that ends" in read_musicxml(data).problems[0].what


def test_words_that_say_throughout_hold_to_the_end() -> None:
    data = score(
        note(4, 0, 8) + direction(words("let ring throughout")) + note(3, 0, 8), note(2, 0, 16)
    )
    assert rows_in(data, "string", "ring_end_quarters") == [(4, 2), (3, 8), (2, 8)]
    assert read_musicxml(data).problems == ()


def test_a_mute_in_a_sound_holds_until_it_is_off() -> None:
    # W3C MusicXML 4.0 reference, `play` in a sound: "applies to all notes going forward".
    def mute(kind: str) -> str:
        return f"<sound><play><mute>{kind}</mute></play></sound>"

    data = score(
        note(6, 0, 4) + mute("palm") + note(6, 0, 12), note(6, 0, 8) + mute("off") + note(6, 0, 8)
    )
    assert techniques(data) == [(), ("palm_mute",), ("palm_mute",), ()]


def test_notes_under_a_line_of_dead_notes_have_no_pitch() -> None:
    data = score(
        direction(words("dead notes"), dashes("start"))
        + note(6, 0, 8)
        + direction(dashes("stop"))
        + note(6, 0, 8)
    )
    assert rows_in(data, "pitch") == [(None,), (40,)]


def test_a_wavy_line_holds_up_to_the_note_where_it_stops() -> None:
    # As in the test suite's 99c: stop and start of the next line may share a note.
    def wave(*kinds: str) -> str:
        lines = "".join(f'<wavy-line type="{kind}"/>' for kind in kinds)
        return f"<ornaments>{lines}</ornaments>"

    data = score(
        note(3, 5, 4, notations=wave("start"))
        + note(3, 7, 4)
        + note(3, 8, 4, notations=wave("stop", "start"))
        + note(3, 5, 4, notations=wave("stop"))
    )
    assert techniques(data) == [("vibrato",), ("vibrato",), ("vibrato",), ()]


def test_a_wavy_line_after_a_trill_is_no_vibrato() -> None:
    trill = "<ornaments><trill-mark/><wavy-line type='start'/></ornaments>"
    data = score(note(3, 5, 16, notations=trill))
    assert techniques(data) == [("trill",)]


def test_a_wave_beside_a_trill_in_ornaments_of_its_own_is_vibrato() -> None:
    wave = '<ornaments><wavy-line type="start"/><wavy-line type="stop"/></ornaments>'
    data = score(note(3, 5, 16, notations=trilled(step=' trill-step="half"') + wave))
    assert techniques(data) == [("vibrato", "trill")]


def test_a_trill_line_over_several_notes_is_told() -> None:
    start = "<wavy-line type='start'/>"
    stop = "<ornaments><wavy-line type='stop'/></ornaments>"
    data = score(
        note(3, 5, 8, notations=trilled(start, ' trill-step="half"'))
        + note(3, 5, 8, notations=stop)
    )
    assert techniques(data) == [("trill",), ()]
    assert "on the first of them" in problem_about(read_musicxml(data), "trill line").what


# --- ringing strings ----------------------------------------------------------------------------


def ring_ends(data: bytes) -> list[Fraction]:
    return [n.ring_end_quarters for n in notes_in(data)]


def test_a_let_ring_tie_rings_to_the_next_note_on_its_string_or_the_end() -> None:
    data = score(
        note(4, 2, 4, notations=LET_RING)
        + note(3, 2, 4, notations=LET_RING)
        + note(2, 3, 4)
        + note(4, 3, 4),
        rest(16),
    )
    assert ring_ends(data) == [3, 8, 3, 4]


def test_let_ring_words_ring_to_the_end_of_their_line() -> None:
    data = score(
        direction(words("let ring"), dashes("start"))
        + note(4, 2, 2)
        + note(3, 2, 2)
        + note(2, 3, 4)
        + direction(dashes("stop"))
        + rest(8),
        rest(16),
    )
    assert ring_ends(data) == [2, 2, 2]


def test_palm_mute_under_let_ring_stops_with_its_value() -> None:
    data = score(
        direction(words("let ring"), dashes("start"))
        + note(6, 0, 4, after="<play><mute>palm</mute></play>")
        + note(5, 2, 4)
        + rest(4)
        + direction(dashes("stop"))
        + rest(4)
    )
    assert ring_ends(data) == [1, 3]


def test_a_ringing_string_crosses_voices_and_bars() -> None:
    data = score(
        note(3, 0, 16, notations=LET_RING) + backup(16) + note(1, 5, 16),
        note(1, 7, 16),
        note(3, 0, 16),
    )
    assert rows_in(data, "string", "ring_end_quarters") == [(3, 8), (1, 4), (1, 8), (3, 12)]


def test_let_ring_is_repeated_with_its_bar() -> None:
    again = '<barline location="right"><repeat direction="backward"/></barline>'
    data = score(note(3, 0, 4, notations=LET_RING) + note(2, 0, 12) + again, rest(16))
    assert ring_ends(data) == [4, 4, 12, 8]


def test_a_let_ring_line_that_a_jump_cuts_ends_with_the_bar_before_it() -> None:
    data = score(
        direction(words("let ring"), dashes("start"))
        + note(3, 0, 16)
        + '<barline location="right"><repeat direction="backward"/></barline>',
        rest(8) + direction(dashes("stop")) + rest(8),
    )
    assert ring_ends(data) == [4, 10]


# --- what is not read ---------------------------------------------------------------------------


def test_what_is_not_understood_is_named_once_with_its_count_and_first_place() -> None:
    tap = "<golpe/>"
    data = score(
        note(3, 5, 4) + note(3, 5, 4, technical=tap) + note(3, 5, 8, technical=tap),
        note(3, 5, 16, notations="<dynamics><f/></dynamics>"),
    )
    assert [(p.what, p.line, p.place) for p in read_musicxml(data).problems] == [
        ("`golpe` is not read; it is left out (2 times, the first is here)", 9, "bar 1, beat 2"),
        ("`dynamics` is not read; it is left out", 13, "bar 2, beat 1"),
    ]


@pytest.mark.parametrize(
    ("inside", "named"),
    [
        (note(3, 5, 16, technical="<fingering>1</fingering>"), "fingering"),
        (note(3, 5, 16, notations="<ornaments><turn/></ornaments>"), "turn"),
        (note(3, 5, 16, technical="<pluck>p</pluck>"), "pluck"),
        (note(3, 5, 16, technical="<arrow><arrow-direction>up</arrow-direction></arrow>"), "arrow"),
        (note(3, 5, 16, before="<notehead>diamond</notehead>"), "`notehead` 'diamond'"),
        (note(3, 5, 16, before="<notehead>slash</notehead>"), "`notehead` 'slash'"),
        (note(3, 5, 16, before="<notehead parentheses='yes'>normal</notehead>"), "parentheses"),
        (note(3, 5, 16, after="<lyric><text>la</text></lyric>"), "lyric"),
        (note(3, 5, 16, after="<play><mute>cup</mute></play>"), "`mute` 'cup'"),
        (direction("<dynamics><f/></dynamics>") + note(3, 5, 16), "dynamics"),
        (direction(words("with feeling")) + note(3, 5, 16), "with feeling"),
        ("<harmony><root><root-step>E</root-step></root></harmony>" + note(3, 5, 16), "harmony"),
        (
            "<attributes><measure-style><measure-repeat type='start'>1</measure-repeat>"
            "</measure-style></attributes>" + note(3, 5, 16),
            "measure-repeat",
        ),
        (note(3, 5, 16, notations="<arpeggiate/>"), "arpeggiate"),
        (note(3, 5, 16, notations="<a-sign-of-tomorrow/>"), "a-sign-of-tomorrow"),
        (note(3, 5, 16, opening=' print-object="no"'), "not printed"),
    ],
)
def test_nothing_that_may_matter_is_dropped_silently(inside: str, named: str) -> None:
    result = read_musicxml(score(inside))
    assert result.passage is not None
    assert len(result.passage.notes) == 1
    (problem,) = result.problems
    assert named in problem.what
    assert problem.severity is Severity.WARNING


def test_marks_of_the_page_are_passed_over() -> None:
    engraved = (
        "<print new-system='yes'/><attributes><key><fifths>3</fifths></key></attributes>"
        + direction('<wedge type="crescendo"/>')
        + note(3, 5, 8, before="<type>half</type><accidental>sharp</accidental><stem>up</stem>")
        + note(
            3,
            5,
            8,
            before="<type>half</type><beam>begin</beam>",
            notations="<tuplet type='start'/>",
        )
    )
    assert read_musicxml(score(engraved)).problems == ()


def test_two_notes_on_one_string_at_once_keep_the_first() -> None:
    data = score(note(3, 5, 16) + note(3, 7, 16, first=CHORD))
    assert rows_in(data, "fret") == [(5,)]
    told = problem_about(read_musicxml(data), "frets 5 and 7 are played on string 3 at once")
    assert told.mend == "move one of the two notes to another string"


def test_a_note_shared_by_two_voices_is_one_note_with_the_longer_value() -> None:
    data = score(
        note(6, 0, 4, before="<voice>1</voice>")
        + rest(12)
        + backup(16)
        + note(6, 0, 16, before="<voice>2</voice>")
    )
    assert rows_in(data, "onset_quarters", "duration_quarters") == [(0, 4)]


def test_a_dead_note_under_let_ring_on_any_tuning_has_no_pitch() -> None:
    dead = note(1, 0, 16, before="<notehead>x</notehead>", notations=LET_RING)
    passage = passage_in(score(dead, start=attributes(tuning=STANDARD)))
    assert [n.pitch for n in passage.notes] == [None]
    assert passage.notes[0].ring_end_quarters == 4
