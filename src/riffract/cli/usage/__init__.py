"""How each command is called; a module a command.

They import nothing heavy: what does the work is imported when it runs, so that `--help` and a slip
of the pen are answered at once.
"""
