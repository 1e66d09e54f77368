"""How `riffract corpus build` is called."""

from argparse import ArgumentParser, Namespace
from typing import Final

from riffract.cli.usage.shared import choices, path_of
from riffract.cli.usage.usage import Group, Usage


def _add_build(parser: ArgumentParser) -> None:
    parser.add_argument("folder", type=path_of, help="a folder with tab, MusicXML or MIDI in it")
    parser.add_argument(
        "--into",
        type=path_of,
        metavar="FILE",
        help="where the index is put (default: FOLDER/corpus.duckdb)",
    )
    parser.add_argument("--title", help="what the corpus is called (default: as its folder)")
    parser.add_argument("--provenance", metavar="WORDS", help="whose music it is, and from where")
    parser.add_argument("--again", action="store_true", help="throw the index away and start anew")
    parser.add_argument("--json", action="store_true", help="print what was done as JSON")
    parser.add_argument(
        "--grid",
        metavar="VALUE",
        help="the value that notes lie on, as 1/16, or `bars`, for pasted tab",
    )
    # One part or tuning cannot hold for all files of a folder.
    parser.set_defaults(part=None, tuning=None)


def _run_build(options: Namespace) -> int:
    from riffract.cli.corpus import build

    return build(
        options.folder,
        options.into,
        choices(options),
        title=options.title,
        provenance=options.provenance,
        is_anew=options.again,
        as_json=options.json,
    )


BUILD: Final = Usage(
    about="measure all music of a folder; what is known already is not read again",
    example='riffract corpus build transcriptions --title "My transcriptions"',
    add=_add_build,
    run=_run_build,
)
CORPUS: Final = Group(
    about="measure a folder of music, so that passages can be compared with it",
    example="riffract corpus build transcriptions",
    actions={"build": BUILD},
)
