"""How `riffract study` is called."""

from argparse import ArgumentParser, Namespace
from typing import Final

from riffract.cli.usage.shared import add_choices, add_seed, choices, path_of
from riffract.cli.usage.usage import Usage

KINDS: Final = (
    *("passes", "mirror", "gesture", "sonority", "collection"),
    *("collection_change", "drone", "anchor", "motive", "pattern", "hand", "metre"),
)
"""The kinds of finding, written here once more because their own module is heavy to import."""


def _add(parser: ArgumentParser) -> None:
    parser.add_argument("path", type=path_of, help="a file of music, or an essay's folder")
    _add_forms(parser)
    parser.add_argument(
        "--only",
        action="append",
        choices=KINDS,
        metavar="KIND",
        help=f"one of {', '.join(KINDS)}; may be given again; all are weighed together all the "
        "same",
    )
    parser.add_argument(
        "--span",
        metavar="BARS",
        help="look at these bars only, as 3-6, or from beat to beat, 3:2-5:1",
    )
    parser.add_argument(
        "--earlier",
        action="extend",
        nargs="+",
        default=[],
        type=path_of,
        metavar="FILE",
        help="files of music that it may grow out of, the earliest first",
    )
    parser.add_argument(
        "--language",
        metavar="CODE",
        help='tell it in this language, as "de" (default: the essay\'s, else English)',
    )
    add_choices(parser)
    add_seed(parser)


def _add_forms(parser: ArgumentParser) -> None:
    forms = parser.add_mutually_exclusive_group()
    forms.add_argument(
        "--json", dest="form", action="store_const", const="json", help="print the answer as JSON"
    )
    forms.add_argument(
        "--csv", dest="form", action="store_const", const="csv", help="print a table of findings"
    )
    forms.add_argument(
        "--all", action="store_true", help="tell what is no better than chance in full, too"
    )


def _run(options: Namespace) -> int:
    from riffract.cli.study import study

    return study(
        options.path,
        choices(options),
        form=options.form or "notes",
        only=options.only,
        span=options.span,
        everything=options.all,
        seed=options.seed,
        earlier=options.earlier,
        language=options.language,
    )


STUDY: Final = Usage(
    about="find out how a passage is built, and how solid that is",
    example="riffract study passage.tab --only mirror",
    add=_add,
    run=_run,
)
