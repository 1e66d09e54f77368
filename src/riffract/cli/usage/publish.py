"""How `riffract publish` is called."""

from argparse import ArgumentParser, Namespace
from typing import Final

from riffract.cli.usage.shared import add_choices, choices, path_of
from riffract.cli.usage.usage import Usage

PARTS: Final = (
    *("film", "stills", "captions", "script", "findings", "handout"),
    *("chapters", "description", "passage", "timeline"),
)
"""What goes out where nothing is asked for; here and below, as with kinds, written once more."""

MORE_PARTS: Final = ("page", "loops", "overlay", "stems")
ALL: Final = "all"


def _add(parser: ArgumentParser) -> None:
    parser.add_argument("path", type=path_of, help="an essay's folder, or a file of music")
    parser.add_argument(
        "what",
        nargs="*",
        choices=(*PARTS, *MORE_PARTS, ALL),
        default=ALL,
        metavar="WHAT",
        help=f"any of {', '.join(PARTS)} (default: all of them), {', '.join(MORE_PARTS)}",
    )
    parser.add_argument("--out", type=path_of, help="where to put it (default: FOLDER/out)")
    parser.add_argument(
        "--despite-flashing",
        action="store_true",
        help="write the film even if it flashes more than is safe for people with photosensitive "
        "epilepsy",
    )
    add_choices(parser)


def _run(options: Namespace) -> int:
    from riffract.cli.publish import publish_path

    what = options.what
    if ALL in what:
        what = [*PARTS, *(part for part in MORE_PARTS if part in what)]
    return publish_path(
        options.path,
        what,
        choices(options),
        out=options.out,
        despite_flashing=options.despite_flashing,
    )


PUBLISH: Final = Usage(
    about="make the film and all that goes with it",
    example="riffract publish essays/tide film captions",
    add=_add,
    run=_run,
)
