"""The essay as one web page: claims, sound and pictures that move, in a single file."""
