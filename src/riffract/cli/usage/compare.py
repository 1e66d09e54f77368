"""How `riffract compare` is called."""

from argparse import ArgumentParser, Namespace
from typing import Final

from riffract.cli.usage.shared import add_choices, choices, path_of
from riffract.cli.usage.usage import Usage


def _add(parser: ArgumentParser) -> None:
    parser.add_argument("path", type=path_of, help="a file of music, or an essay's folder")
    parser.add_argument(
        "--with",
        dest="corpus",
        type=path_of,
        metavar="CORPUS",
        help="an index made by `corpus build`, or the folder it was made of (default: songs and "
        "quartets, mostly of the 19th century, as a table that comes with Riffract)",
    )
    parser.add_argument(
        "--attacks",
        type=int,
        choices=(8, 16, 32, 64, 128),
        help="how many attacks each window has (default: the most that fit)",
    )
    parser.add_argument("--json", action="store_true", help="print the answer as JSON")
    add_choices(parser)


def _run(options: Namespace) -> int:
    from riffract.cli.compare import compare

    return compare(
        options.path,
        options.corpus,
        choices(options),
        attacks=options.attacks,
        as_json=options.json,
    )


COMPARE: Final = Usage(
    about="say how unusual a passage is among others, and what is like it",
    example="riffract compare passage.tab --with transcriptions",
    add=_add,
    run=_run,
)
