"""What a passage is: pitch, tuning, metre, notes, bars and the time map. Pure data, exact time."""

from riffract.music.cutting import cut
from riffract.music.metre import Metre
from riffract.music.note_table_builder import NoteTableBuilder
from riffract.music.notes import Grace, Note, NoteTable, Technique
from riffract.music.passage import Bar, Passage, Place, Proposed, Section, TempoMark, bars_in_row
from riffract.music.pitch import pitch_name, pitch_named
from riffract.music.span import Span
from riffract.music.time_map import TimeMap
from riffract.music.tuning import Tuning

__all__ = [
    "Bar",
    "Grace",
    "Metre",
    "Note",
    "NoteTable",
    "NoteTableBuilder",
    "Passage",
    "Place",
    "Proposed",
    "Section",
    "Span",
    "Technique",
    "TempoMark",
    "TimeMap",
    "Tuning",
    "bars_in_row",
    "cut",
    "pitch_name",
    "pitch_named",
]
