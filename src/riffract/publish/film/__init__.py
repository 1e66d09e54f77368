"""The film: pictures, sound and captions in one file."""
