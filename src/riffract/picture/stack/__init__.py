"""The stack: passes below each other."""
