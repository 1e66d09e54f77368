"""The growth: where an idea comes from."""
