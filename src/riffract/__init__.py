"""Riffract: from a written riff to a checkable film that explains it."""

__version__ = "0.1.0"
