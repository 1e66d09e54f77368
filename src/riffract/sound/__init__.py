"""Recordings in and out, plucked-string rendering, loudness."""
