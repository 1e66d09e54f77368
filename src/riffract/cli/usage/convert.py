"""How `riffract convert` is called."""

from argparse import ArgumentParser, ArgumentTypeError, Namespace
from typing import Final

from riffract.cli.usage.shared import add_choices, add_replace, choices, path_of
from riffract.cli.usage.usage import Usage


def _add(parser: ArgumentParser) -> None:
    parser.add_argument("source", type=path_of, metavar="IN", help="a file of music")
    parser.add_argument(
        "target",
        type=path_of,
        metavar="OUT",
        help="what to write: .tab, .txt, .musicxml, .xml, .mxl, .mid or .midi",
    )
    add_choices(parser)
    parser.add_argument(
        "--written-out", action="store_true", help="write repeats out instead of with signs"
    )
    parser.add_argument(
        "--width", type=_width, default=100, help="signs in a line of tab (default: 100)"
    )
    add_replace(parser)


def _width(text: str) -> int:
    if not text.isdecimal() or not 20 <= int(text) <= 10_000:
        raise ArgumentTypeError(f"a line has 20 to 10000 signs, got {text!r}")
    return int(text)


def _run(options: Namespace) -> int:
    from riffract.cli.convert import convert

    return convert(
        options.source,
        options.target,
        choices(options),
        folded=not options.written_out,
        width=options.width,
        replace=options.replace,
    )


CONVERT: Final = Usage(
    about="write a passage in another format",
    example="riffract convert tide.tab tide.musicxml",
    add=_add,
    run=_run,
)
