"""The metre: passes against bars."""
