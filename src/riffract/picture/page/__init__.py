"""The page: the strings in time."""
