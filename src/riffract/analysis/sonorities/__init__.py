"""What sounds together and in a row."""
