"""The built-in essay, as plain files."""
