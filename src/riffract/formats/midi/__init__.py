"""Standard MIDI Files: read a guitar part into a passage, and write one."""

from riffract.formats.midi.reader import read_midi
from riffract.formats.midi.writer import write_midi

__all__ = ["read_midi", "write_midi"]
