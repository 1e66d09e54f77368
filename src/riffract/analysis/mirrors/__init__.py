"""What mirrors what: in time, in pitch, in gesture, in the order of the passes."""
