"""How a note is spelled in the row of its string."""

from riffract.formats.tab.bends import write_bend
from riffract.formats.tab.graces import write_grace_sign
from riffract.formats.tab.harmonics import Node, node_text, sound_text, sounding_pitch
from riffract.music import Grace, Note, Technique, Tuning

_PLAYED_OFF = {Technique.DOIT: "//", Technique.FALLOFF: "\\\\"}
_PLAYED_INTO = {Technique.SCOOP: "//", Technique.PLOP: "\\\\"}


def struck_text(note: Note, leading_fret: int | None, tuning: Tuning) -> tuple[str, str]:
    """Spell a note that is struck.

    Args:
        note: the note.
        leading_fret: the fret from which a slide can come; `None` if none still sounds.
        tuning: tells what harmonics sound.

    Returns:
        What stands in front of its column, and what from its column on.
    """
    lead = "t" if Technique.TAP in note.techniques else ""
    lead += "h" if Technique.HAMMER_ON in note.techniques else ""
    lead += "p" if Technique.PULL_OFF in note.techniques else ""
    if Technique.SLIDE in note.techniques:
        lead += "\\" if leading_fret is not None and leading_fret > note.fret else "/"
    lead += "".join(sign for flag, sign in _PLAYED_INTO.items() if flag in note.techniques)
    opening, core = _core(note, tuning)
    return lead + opening, core + _tail(note)


def grace_text(grace: Grace, leading_fret: int | None, tuning: Tuning) -> tuple[str, str]:
    """Spell a grace note, in the same two parts."""
    sign = write_grace_sign(
        grace.value_quarters, is_slashed=grace.is_slashed, techniques=grace.techniques
    )
    lead, body = struck_text(as_note(grace), leading_fret, tuning)
    return sign + lead, body


def tied_text(note: Note) -> tuple[str, str]:
    """Spell a note that goes on from the bar before, in the same two parts."""
    return "(", f"{'x' if note.pitch is None else note.fret})"


def as_note(grace: Grace) -> Note:
    """Take a grace for a note that starts where it leads to."""
    return grace.as_note(grace.at_quarters, grace.at_quarters + grace.value_quarters)


def _core(note: Note, tuning: Tuning) -> tuple[str, str]:
    if note.pitch is None:
        return "", f"x{{{note.fret}}}" if note.fret else "x"
    if Technique.NATURAL_HARMONIC in note.techniques:
        expected = sounding_pitch(
            note.string, note.fret, Technique.NATURAL_HARMONIC, Node(), tuning
        )
        return "<", f"{note.fret}{'' if expected == note.pitch else sound_text(note)}>"
    if Technique.PINCH_HARMONIC in note.techniques:
        return "[", f"{note.fret}]{node_text(note, tuning)}"
    if Technique.ARTIFICIAL_HARMONIC in note.techniques:
        return "", f"{note.fret}{node_text(note, tuning)}"
    return "", str(note.fret)


def _tail(note: Note) -> str:
    tail = write_bend(note.bend, note.fret) if note.bend else ""
    if Technique.TRILL in note.techniques:
        tail += "tr" + ("" if note.other_fret is None else str(note.other_fret))
    tail += "~" if Technique.VIBRATO in note.techniques else ""
    return tail + "".join(sign for flag, sign in _PLAYED_OFF.items() if flag in note.techniques)
