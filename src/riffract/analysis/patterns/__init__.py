"""What comes back moved in time and pitch at once."""
