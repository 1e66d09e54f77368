"""The command `riffract`: its arguments, its exit codes, and nothing else.

0: done. 1: the input has a problem. 2: wrong usage. 130: stopped with Ctrl-C.
"""

import argparse
import difflib
import os
import sys
from collections.abc import Callable, Sequence
from pathlib import Path
from typing import Final, NoReturn, TypeAlias

from riffract import __version__

DONE, PROBLEM, USAGE, STOPPED = 0, 1, 2, 130
PARTS: Final = ("film", "stills", "captions", "script", "findings", "handout")
KINDS: Final = (
    *("passes", "mirror", "gesture", "sonority", "collection"),
    *("collection_change", "drone", "anchor"),
)


def main(arguments: Sequence[str] | None = None) -> int:
    """Run a command; give the exit code."""
    for stream in (sys.stdout, sys.stderr):
        stream.reconfigure(encoding="utf-8", errors="replace")  # type: ignore[union-attr]
    parser = _parser()
    try:
        options = parser.parse_args(arguments)
        command: Callable[[argparse.Namespace], int] = options.command
        return command(options)
    except KeyboardInterrupt:
        print("\nStopped. Nothing half-written was left behind.", file=sys.stderr)
        return STOPPED
    except BrokenPipeError:
        # The reader of our output has gone, as `head` does; Python would complain on exit.
        os.dup2(os.open(os.devnull, os.O_WRONLY), sys.stdout.fileno())
        return DONE


class _Parser(argparse.ArgumentParser):
    """A parser that answers an unknown word with the nearest known one."""

    def error(self, message: str) -> NoReturn:
        """Say what is wrong and how to mend it; end with the code for wrong usage."""
        words = [word for word in sys.argv[1:] if not word.startswith("-")]
        known = [name for a in self._actions for name in (a.choices or ())]
        near = [m for word in words for m in difflib.get_close_matches(word, known, n=1)]
        hint = f" Did you mean {near[0]}?" if near and "invalid choice" in message else ""
        print(f"{self.prog}: {message}.{hint}\n  mend: {self.prog} --help", file=sys.stderr)
        raise SystemExit(USAGE)


def _parser() -> argparse.ArgumentParser:
    parser = _Parser(
        prog="riffract",
        description="From a written riff to a film that explains it.",
        epilog="Start with: riffract demo",
    )
    parser.add_argument("--version", action="version", version=f"riffract {__version__}")
    commands = parser.add_subparsers(
        title="commands", metavar="COMMAND", required=True, parser_class=_Parser
    )
    _add_demo(commands)
    _add_new(commands)
    _add_check(commands)
    _add_study(commands)
    _add_publish(commands)
    return parser


_Commands: TypeAlias = "argparse._SubParsersAction[_Parser]"


def _command(commands: _Commands, name: str, about: str, example: str) -> argparse.ArgumentParser:
    return commands.add_parser(
        name,
        help=about,
        description=f"{about[0].upper()}{about[1:]}.",
        epilog=f"example: {example}",
        formatter_class=argparse.RawDescriptionHelpFormatter,
    )


def _add_demo(commands: _Commands) -> None:
    parser = _command(
        commands, "demo", "do the whole job on the built-in essay", "riffract demo essays/demo"
    )
    parser.add_argument(
        "folder",
        nargs="?",
        type=Path,
        default=Path("essays/demo"),
        help="where the essay is put (default: essays/demo)",
    )
    parser.set_defaults(command=_demo)


def _add_new(commands: _Commands) -> None:
    parser = _command(
        commands,
        "new",
        "start an essay in a new folder",
        "riffract new essays/tide --from tide.musicxml",
    )
    parser.add_argument("folder", type=Path, help="a folder that is empty or not there yet")
    parser.add_argument(
        "--from",
        dest="passage",
        type=Path,
        metavar="FILE",
        help="the music: plain-text tab (.tab, .txt) or MusicXML (.musicxml, .xml, .mxl)",
    )
    _add_seed(parser)
    parser.set_defaults(command=_new)


def _add_check(commands: _Commands) -> None:
    parser = _command(
        commands,
        "check",
        "say what is wrong with a passage or an essay, and how to mend it",
        "riffract check passage.tab",
    )
    parser.add_argument("path", type=Path, help="a file of music, or an essay's folder")
    parser.set_defaults(command=_check)


def _add_study(commands: _Commands) -> None:
    parser = _command(
        commands,
        "study",
        "find out how a passage is built, and how solid that is",
        "riffract study passage.tab --only mirror",
    )
    parser.add_argument("path", type=Path, help="a file of music, or an essay's folder")
    parser.add_argument("--json", action="store_true", help="print the answer as JSON")
    parser.add_argument("--only", choices=KINDS, metavar="KIND", help=f"one of {', '.join(KINDS)}")
    _add_seed(parser)
    parser.set_defaults(command=_study)


def _add_publish(commands: _Commands) -> None:
    parser = _command(
        commands,
        "publish",
        "make the film and all that goes with it",
        "riffract publish essays/tide film captions",
    )
    parser.add_argument("path", type=Path, help="an essay's folder, or a file of music")
    parser.add_argument(
        "what",
        nargs="*",
        choices=(*PARTS, []),
        metavar="WHAT",
        help=f"any of {', '.join(PARTS)} (default: all)",
    )
    parser.add_argument("--out", type=Path, help="where to put it (default: FOLDER/out)")
    parser.set_defaults(command=_publish)


def _add_seed(parser: argparse.ArgumentParser) -> None:
    parser.add_argument(
        "--seed", type=_seed, default=None, help="of every random draw (default: 1)"
    )


def _seed(text: str) -> int:
    if not text.isdecimal() or int(text) > 2**31:
        raise argparse.ArgumentTypeError(f"a seed is a whole number from 0 on, got {text!r}")
    return int(text)


# The commands themselves import what they need, so that `--help` starts at once.


def _demo(options: argparse.Namespace) -> int:
    from riffract.cli.demo import demo

    return demo(options.folder)


def _new(options: argparse.Namespace) -> int:
    from riffract.cli.new import new

    return new(options.folder, options.passage, seed=1 if options.seed is None else options.seed)


def _check(options: argparse.Namespace) -> int:
    from riffract.cli.check import check

    return check(options.path)


def _study(options: argparse.Namespace) -> int:
    from riffract.cli.study import study

    return study(options.path, as_json=options.json, only=options.only, seed=options.seed)


def _publish(options: argparse.Namespace) -> int:
    from riffract.cli.publish import publish_path

    return publish_path(options.path, options.what or list(PARTS), out=options.out)
