"""What the handout tells of a recording."""

from tests.publish.test_publish_hearing_report import RIFF, heard, stretch

from riffract.essay.doubts import note_place
from riffract.publish.heard_facts import heard_facts
from riffract.sound.support import NoteSupport, Rival, RivalKind, Support

ELSE = Rival(kind=RivalKind.PITCH, pitch=54, string=3, fret=4)


def notes(**supports: Support) -> tuple[NoteSupport, ...]:
    """Bear out all notes but some, named as `n3`; what is contradicted has a rival."""
    by_note = {int(name[1:]): support for name, support in supports.items()}
    return tuple(
        NoteSupport(
            note=note.index,
            support=(support := by_note.get(note.index, Support.BORNE_OUT)),
            evidence=1.0,
            rival=ELSE if support is Support.CONTRADICTED else None,
        )
        for note in RIFF.notes
    )


def test_facts_count_attacks_and_notes() -> None:
    found = notes(n3=Support.CONTRADICTED, n5=Support.UNCLEAR)
    told = heard_facts(RIFF, heard(stretch(1, 3, 2.5), notes=found), ())
    facts = dict(told.facts)
    assert facts["file"] == "take.wav"
    assert facts["the passage"] == "0:02.500 to 0:08.500"
    assert facts["attacks"] == "12 of 12 heard; half of them within ±10 ms"
    assert facts["notes"] == "10 of 12 borne out, 1 contradicted, 1 unclear"


def test_every_doubted_note_has_its_own_sentence_whether_anything_fits_better_or_not() -> None:
    found = notes(n3=Support.UNCLEAR, n7=Support.CONTRADICTED)
    told = heard_facts(RIFF, heard(stretch(1, 3, 0.0), notes=found), ())
    assert len(told.doubts) == 2
    assert told.doubts[0].startswith("Bar 1, beat 4: ")
    assert told.doubts[0].endswith("is not clear, and nothing fits better.")
    assert told.doubts[1].startswith("Bar 2, beat 4: string 3, fret 4, not ")


def test_what_the_analyst_hears_as_written_is_told_apart() -> None:
    found = notes(n3=Support.CONTRADICTED, n7=Support.CONTRADICTED)
    place = note_place(RIFF, 3)
    assert place.startswith("1:4:")
    told = heard_facts(RIFF, heard(stretch(1, 3, 0.0), notes=found), (place,))
    assert [text[:14] for text in told.by_ear] == ["Bar 1, beat 4:"]
    assert [text[:14] for text in told.doubts] == ["Bar 2, beat 4:"]
