"""The fold: one half laid over the other."""
