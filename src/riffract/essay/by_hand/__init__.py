"""What the analyst has set by hand: axes, riffs, stretches."""
