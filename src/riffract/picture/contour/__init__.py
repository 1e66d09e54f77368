"""The contour: the height of the line in time."""
