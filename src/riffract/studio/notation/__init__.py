"""The passage while it is written: its picture bar by bar, and what a key press does to it."""
