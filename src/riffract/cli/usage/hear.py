"""How `riffract hear` is called."""

from argparse import ArgumentParser, Namespace
from typing import Final

from riffract.cli.usage.shared import add_choices, choices, path_of
from riffract.cli.usage.usage import Usage


def _add(parser: ArgumentParser) -> None:
    parser.add_argument("path", type=path_of, help="an essay's folder, or a file of music")
    parser.add_argument(
        "--recording",
        type=path_of,
        metavar="FILE",
        help="what to listen to (default: the recording that essay.toml names); what is heard in "
        "another one is told, not kept",
    )
    parser.add_argument("--json", action="store_true", help="print what was heard as JSON")
    add_choices(parser)


def _run(options: Namespace) -> int:
    from riffract.cli.hear import hear

    return hear(options.path, options.recording, choices(options), as_json=options.json)


HEAR: Final = Usage(
    about="find a passage in its recording, and say which notes that bears out",
    example="riffract hear essays/tide",
    add=_add,
    run=_run,
)
