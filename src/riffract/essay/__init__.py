"""The essay: its folder, its claims in order with their words, and the list of its shots."""
