"""Where an idea comes from, and what becomes of it."""
