"""How `riffract demo` is called."""

from argparse import ArgumentParser, Namespace
from typing import Final

from riffract.cli.usage.shared import path_of
from riffract.cli.usage.usage import Usage


def _add(parser: ArgumentParser) -> None:
    parser.add_argument(
        "folder",
        nargs="?",
        type=path_of,
        default="essays/demo",
        help="where the essay is put (default: essays/demo)",
    )


def _run(options: Namespace) -> int:
    from riffract.cli.demo import demo

    return demo(options.folder)


DEMO: Final = Usage(
    about="do the whole job on the built-in essay",
    example="riffract demo essays/demo",
    add=_add,
    run=_run,
)
