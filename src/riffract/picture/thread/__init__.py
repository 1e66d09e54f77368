"""The thread: what rings on against what moves."""
