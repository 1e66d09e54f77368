"""Standard MIDI Files: read a guitar part into a passage, and write one."""

from riffract.formats.midi.reader import read_midi

__all__ = ["read_midi"]
