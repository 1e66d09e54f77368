"""Arguments that several commands take."""

import sys
from argparse import ArgumentParser, ArgumentTypeError, Namespace
from typing import TYPE_CHECKING

from riffract.cli.exit_codes import USAGE

if TYPE_CHECKING:
    from pathlib import Path

    from riffract.formats.reading import ReadChoices


def path_of(text: str) -> "Path":
    """Read a place on disk; what knows about paths is imported when there is one."""
    from pathlib import Path

    return Path(text)


def add_choices(parser: ArgumentParser) -> None:
    """Offer what some files of music leave open."""
    parser.add_argument("--part", metavar="NAME", help="which part or passage of the file")
    parser.add_argument(
        "--grid",
        metavar="VALUE",
        help="the value that notes lie on, as 1/16, or `bars`, for pasted tab and MIDI",
    )
    parser.add_argument(
        "--tuning",
        metavar="STRINGS",
        help='for pasted tab and MIDI, low to high: "E2 A2 D3 G3 B3 E4"',
    )


def choices(options: Namespace) -> "ReadChoices":
    """Make choices of words; a word that is none ends the program as wrong usage does."""
    from riffract.formats.choices import ChoiceError, choices_of

    try:
        return choices_of(part=options.part, grid=options.grid, tuning=options.tuning)
    except ChoiceError as error:
        print(f"riffract: --{error}", file=sys.stderr)
        raise SystemExit(USAGE) from None


def add_seed(parser: ArgumentParser) -> None:
    """Offer the seed of every random draw."""
    parser.add_argument(
        "--seed", type=_seed, default=None, help="of every random draw (default: 1)"
    )


def add_replace(parser: ArgumentParser) -> None:
    """Let a file that is there be replaced, where that is said."""
    parser.add_argument("--replace", action="store_true", help="replace OUT if it is there already")


def _seed(text: str) -> int:
    if not text.isdecimal() or int(text) > 2**31:
        raise ArgumentTypeError(f"a seed is a whole number from 0 on, got {text!r}")
    return int(text)
