"""The hand: shapes on the neck."""
