"""How `riffract new` is called."""

from argparse import ArgumentParser, Namespace
from typing import Final

from riffract.cli.usage.shared import add_choices, add_seed, choices, path_of
from riffract.cli.usage.usage import Usage


def _add(parser: ArgumentParser) -> None:
    parser.add_argument("folder", type=path_of, help="a folder that is empty or not there yet")
    parser.add_argument(
        "--from",
        dest="passage",
        type=path_of,
        metavar="FILE",
        help="the music: a file of plain-text tab, MusicXML or MIDI",
    )
    parser.add_argument(
        "--language",
        metavar="CODE",
        default="en",
        help='of the film and its papers, as "de" (default: en)',
    )
    add_choices(parser)
    add_seed(parser)


def _run(options: Namespace) -> int:
    from riffract.cli.new import new

    return new(
        options.folder,
        options.passage,
        choices(options),
        seed=1 if options.seed is None else options.seed,
        language=options.language,
    )


NEW: Final = Usage(
    about="start an essay in a new folder",
    example="riffract new essays/tide --from tide.musicxml",
    add=_add,
    run=_run,
)
