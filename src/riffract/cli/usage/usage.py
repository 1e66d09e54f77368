"""What a command does, which arguments it takes, and what runs it."""

from argparse import ArgumentParser, Namespace
from collections.abc import Callable, Mapping
from typing import NamedTuple


# No data classes: to import what makes them takes as long as all the rest of `--help`.
class Usage(NamedTuple):
    """How one command is called.

    Attributes:
        about: what it does, as half a sentence that starts small.
        example: a whole command line.
        add: gives a parser its arguments.
        run: does what the arguments say and gives the exit code.
    """

    about: str
    example: str
    add: Callable[[ArgumentParser], None]
    run: Callable[[Namespace], int]


class Group(NamedTuple):
    """A command that has commands of its own.

    Attributes:
        about, example: as with `Usage`.
        actions: its commands by name.
    """

    about: str
    example: str
    actions: Mapping[str, Usage]
