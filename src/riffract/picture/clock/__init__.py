"""The clock: pitch classes in a circle."""
