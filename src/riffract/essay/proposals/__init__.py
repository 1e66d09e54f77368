"""Claims that solid findings suggest."""
