"""How `riffract check` is called."""

from argparse import ArgumentParser, Namespace
from typing import Final

from riffract.cli.usage.shared import add_choices, choices, path_of
from riffract.cli.usage.usage import Usage


def _add(parser: ArgumentParser) -> None:
    parser.add_argument(
        "path",
        type=path_of,
        help="a file of music, an essay's folder, or a folder that publish has filled",
    )
    add_choices(parser)


def _run(options: Namespace) -> int:
    from riffract.cli.check import check

    return check(options.path, choices(options))


CHECK: Final = Usage(
    about="say what is wrong with a passage or an essay, or whether a package is whole and true",
    example="riffract check passage.tab",
    add=_add,
    run=_run,
)
