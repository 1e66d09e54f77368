"""The whole: all of it at once."""
