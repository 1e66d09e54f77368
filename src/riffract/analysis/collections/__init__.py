"""Which scale the music draws on, and how that changes."""
