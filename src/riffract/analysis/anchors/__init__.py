"""What sits above the lowest open string."""
