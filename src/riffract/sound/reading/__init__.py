"""Recordings, read block by block: what kind a file is, its head, and its sound."""
