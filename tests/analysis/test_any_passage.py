"""Whatever the passage, the questions of pitch are answered, and the answers hold together."""

from dataclasses import replace
from fractions import Fraction
from math import isfinite

from hypothesis import given, settings
from hypothesis import strategies as st
from tests.making import passage

from riffract.analysis.anchors.find import find_anchor
from riffract.analysis.attacks import anchor_notes, attacks_of, ignored, lead_notes
from riffract.analysis.collections.find import find_collections
from riffract.analysis.drones.find import drone_notes, find_drones
from riffract.analysis.finding import Finding, Gesture
from riffract.analysis.gestures.find import find_gesture
from riffract.analysis.sonorities.find import find_sonorities
from riffract.music import Metre, NoteTableBuilder, Passage, Technique, Tuning

TUNINGS = [
    Tuning(open_pitches=(28, 33, 38, 43)),
    Tuning(open_pitches=(40, 45, 50, 55, 59, 64), capo=2),
    Tuning(open_pitches=(35, 40, 45, 50, 55, 59, 64)),
    Tuning(open_pitches=(67, 50, 55, 59, 62)),
]
VALUES = [Fraction(1, 4), Fraction(1, 3), Fraction(1, 2), Fraction(1, 5), Fraction(2), Fraction(6)]


@st.composite
def passages(draw: st.DrawFn) -> Passage:
    tuning = draw(st.sampled_from(TUNINGS))
    builder = NoteTableBuilder()
    now = Fraction(0)
    for _ in range(draw(st.integers(0, 24))):
        strings = draw(st.sets(st.integers(1, tuning.string_count), max_size=4))
        value = draw(st.sampled_from(VALUES))
        for string in strings:
            fret = draw(st.integers(0, 7))
            is_dead = draw(st.integers(0, 9)) == 0
            builder.add(
                onset_quarters=now,
                duration_quarters=value,
                ring_end_quarters=now + draw(st.sampled_from(VALUES)),
                string=string,
                fret=fret,
                pitch=None if is_dead else tuning.pitch_at(string, fret),
                techniques=draw(st.sampled_from([Technique(0), Technique.PALM_MUTE]))
                | (Technique.DEAD if is_dead else Technique(0)),
                bend=draw(st.sampled_from([(), (), (), (0, 100), (0, 150)])),
            )
        now += value
    metre = draw(st.sampled_from([Metre(groups=(3, 3, 2), unit=8), Metre(groups=(4,), unit=4)]))
    empty = passage([(None, max(now, Fraction(1)))], metres=[metre], tuning=tuning)
    return replace(empty, notes=builder.build())


def answers(music: Passage) -> list[Finding]:
    attacks = attacks_of(music)
    drones = find_drones(music, attacks)
    drone = drone_notes(drones)
    lead = lead_notes(music.notes, attacks, without=drone | anchor_notes(music))
    gestures = find_gesture(music, attacks, lead)
    limbs = [limb for g in gestures if isinstance(g.what, Gesture) for limb in g.what.limbs]
    starts = tuple(limb.span.start_quarters for limb in limbs)
    return [
        *drones,
        *find_anchor(music, attacks),
        *gestures,
        *find_sonorities(music, attacks, limbs),
        *find_collections(music, attacks, lead, drone, starts),
    ]


@settings(deadline=None, max_examples=150)
@given(passages())
def test_every_answer_has_its_place_evidence_and_words(music: Passage) -> None:
    findings = answers(music)
    assert len({f.id for f in findings}) == len(findings)
    for f in findings:
        assert f.spans
        assert list(f.spans) == sorted(f.spans)
        assert all(0 <= s.start_quarters <= s.end_quarters for s in f.spans)
        assert list(f.notes) == sorted(set(f.notes))
        assert all(0 <= i < len(music.notes) for i in f.notes)
        for name, value in f.measures.items():
            assert isfinite(value), name
            assert not name.endswith(("_share", "_p")) or 0 <= value <= 1 + 1e-9, name
        assert f.sentence.endswith(".")
        assert ". " not in f.sentence
        assert not any(sign in f.sentence + f.detail for sign in ("Fraction", "None", "  ", "#"))
    for entry in ignored(music):
        assert entry.where.startswith("bar ")


@settings(deadline=None, max_examples=40)
@given(passages())
def test_the_same_passage_has_the_same_answers(music: Passage) -> None:
    assert answers(music) == answers(music)


@settings(deadline=None)
@given(st.lists(st.integers(36, 70), min_size=3, max_size=24), st.data())
def test_playing_a_line_on_other_strings_changes_no_answer(
    line: list[int], data: st.DataObject
) -> None:
    plain = passage([(pitch, "1/2") for pitch in line])
    builder = NoteTableBuilder()
    for note in plain.notes:
        pitch = line[note.index]
        strings = [s for s in range(1, 8) if 0 <= pitch - plain.tuning.open_pitch(s) <= 24]
        string = data.draw(st.sampled_from(strings))
        builder.add(
            onset_quarters=note.onset_quarters,
            duration_quarters=note.duration_quarters,
            string=string,
            fret=pitch - plain.tuning.open_pitch(string),
            pitch=pitch,
        )
    assert answers(replace(plain, notes=builder.build())) == answers(plain)
