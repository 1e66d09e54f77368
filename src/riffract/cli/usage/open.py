"""How `riffract open` is called."""

from argparse import ArgumentParser, Namespace
from typing import Final

from riffract.cli.usage.shared import path_of
from riffract.cli.usage.usage import Usage


def _add(parser: ArgumentParser) -> None:
    parser.add_argument(
        "folder",
        nargs="?",
        type=path_of,
        help="the essay; without it: recent essays, a new one, the built-in one",
    )
    parser.add_argument(
        "--port", type=int, default=0, help="of the app's own server (default: any that is free)"
    )
    parser.add_argument(
        "--no-browser", action="store_true", help="only print the address; open no browser"
    )


def _run(options: Namespace) -> int:
    from riffract.cli.open import open_app

    return open_app(options.folder, port=options.port, with_browser=not options.no_browser)


OPEN: Final = Usage(
    about="do the whole job by hand, in the browser of this machine",
    example="riffract open essays/tide",
    add=_add,
    run=_run,
)
