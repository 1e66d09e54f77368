"""Where the riff starts, and how each repeat differs."""
