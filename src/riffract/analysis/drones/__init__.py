"""Which string rings on, and how it colours what moves."""
