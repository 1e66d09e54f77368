"""What each desk of the app can be asked for: its actions on the channel and its web addresses.

A desk is a module with two functions: `actions(studio)` and `routes(studio)`.
"""
