"""The notes of an essay that its recording does not bear out, as shots show them."""

from collections.abc import Collection
from fractions import Fraction

from riffract.essay.hearing import Hearing, is_of_notes
from riffract.essay.shots import Doubt
from riffract.music import Passage
from riffract.sound.support import Support


def doubts_of(
    hearing: Hearing | None, passage: Passage, by_ear: Collection[str] = ()
) -> tuple[Doubt, ...]:
    """List the notes that a recording does not bear out.

    Args:
        hearing: what listening gave; `None` if nobody has listened.
        passage: the music as it is now.
        by_ear: places of notes, as `note_place` names them, that the analyst has listened to and
            hears as they are written.

    Returns:
        In the passage's order. Empty if a note has changed since: times may still hold then, but
        what was said of single notes does not.
    """
    if not is_of_notes(hearing, passage):
        return ()
    return tuple(
        Doubt(note=heard.note, is_contradicted=heard.support is Support.CONTRADICTED)
        for heard in hearing.support.notes
        if heard.support is not Support.BORNE_OUT and note_place(passage, heard.note) not in by_ear
    )


def note_place(passage: Passage, note: int) -> str:
    """Name a note as the settings do: `bar:beat:string`."""
    one = passage.notes[note]
    place = passage.place(one.onset_quarters)
    return f"{place.bar}:{beat_in_settings(place.beat)}:{one.string}"


def beat_in_settings(beat: Fraction) -> str:
    """Write a beat as places in the settings have it: `3`, `2.5`."""
    return str(beat.numerator) if beat.denominator == 1 else str(round(float(beat), 4))
