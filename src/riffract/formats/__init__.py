"""Passages in and out: plain-text tab and MusicXML."""
