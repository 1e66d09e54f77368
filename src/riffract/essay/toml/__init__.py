"""The essay's text files: values, lines and faults in them."""
