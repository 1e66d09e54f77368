"""What the instrument explains."""
