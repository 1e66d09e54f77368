"""How unusual a passage is among other music."""
