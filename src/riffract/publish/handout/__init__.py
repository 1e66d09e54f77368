"""The handout."""
