"""What a command tells the shell by the number it ends with."""

DONE, PROBLEM, USAGE, STOPPED = 0, 1, 2, 130
