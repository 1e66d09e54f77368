"""Other music to compare with: its files, its index, its rows."""
