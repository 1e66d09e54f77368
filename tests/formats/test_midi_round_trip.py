from hypothesis import HealthCheck, given, settings
from tests.formats.midi_passages import kept_passages
from tests.formats.musicxml_passages import passages

from riffract.formats.midi import read_midi, write_midi
from riffract.music import Technique

ANY_HARMONIC = Technique.NATURAL_HARMONIC | Technique.ARTIFICIAL_HARMONIC | Technique.PINCH_HARMONIC
slow = settings(max_examples=60, deadline=None, suppress_health_check=[HealthCheck.too_slow])


@given(kept_passages())
@slow
def test_what_is_written_reads_as_the_same_notes(passage):
    read = read_midi(write_midi(passage)).passage
    assert read is not None
    assert read.notes == passage.notes
    assert read.tuning.open_pitches == passage.tuning.open_pitches
    assert read.tuning.capo == passage.tuning.capo
    assert read.title == passage.title
    assert read.sections == passage.sections
    assert not read.proposed
    if all(bar.length_quarters <= bar.metre.length_quarters for bar in passage.bars):
        assert [bar.span for bar in read.bars] == [bar.span for bar in passage.bars]
        assert [bar.metre for bar in read.bars] == [bar.metre for bar in passage.bars]


@given(kept_passages())
@slow
def test_reading_and_writing_again_changes_nothing(passage):
    once = write_midi(passage)
    read = read_midi(once).passage
    assert read is not None
    again = read_midi(write_midi(read)).passage
    assert again is not None
    assert (again.notes, again.bars, again.tempos) == (read.notes, read.bars, read.tempos)


@given(passages())
@slow
def test_every_passage_can_be_written_and_its_notes_start_where_they_did(passage):
    result = read_midi(write_midi(passage))
    if result.passage is None:
        # Nothing to play, or a harmonic that no fret gives.
        assert (
            "no notes" in result.problems[0].what or "cannot be played" in result.problems[0].what
        )
        return
    played = {(n.onset_quarters, n.string, n.pitch) for n in result.passage.notes}
    led_to = {grace.at_quarters for grace in passage.graces}
    for note in passage.notes:
        is_plain = note.onset_quarters not in led_to and not note.techniques & ANY_HARMONIC
        if is_plain and note.pitch is not None:
            assert (note.onset_quarters, note.string, note.pitch) in played
