"""How the riff sits in the bar."""
