"""One module for each question that an analyst asks; each returns typed findings."""
