"""The command `riffract`: its commands, its exit codes, and nothing else."""

import argparse
import os
import sys
from collections.abc import Callable, Mapping, Sequence
from io import TextIOWrapper
from types import MappingProxyType
from typing import Final, NoReturn

from riffract import __version__
from riffract.cli.exit_codes import DONE, PROBLEM, STOPPED, USAGE
from riffract.cli.stopping import stopped_as_by_hand
from riffract.cli.usage.check import CHECK
from riffract.cli.usage.compare import COMPARE
from riffract.cli.usage.convert import CONVERT
from riffract.cli.usage.corpus import CORPUS
from riffract.cli.usage.demo import DEMO
from riffract.cli.usage.excerpt import EXCERPT
from riffract.cli.usage.hear import HEAR
from riffract.cli.usage.new import NEW
from riffract.cli.usage.open import OPEN
from riffract.cli.usage.publish import PUBLISH
from riffract.cli.usage.study import STUDY
from riffract.cli.usage.usage import Group, Usage

COMMANDS: Final[Mapping[str, Usage | Group]] = MappingProxyType(
    {
        "demo": DEMO,
        "new": NEW,
        "open": OPEN,
        "check": CHECK,
        "study": STUDY,
        "hear": HEAR,
        "compare": COMPARE,
        "corpus": CORPUS,
        "publish": PUBLISH,
        "convert": CONVERT,
        "excerpt": EXCERPT,
    }
)


def main(arguments: Sequence[str] | None = None) -> int:
    """Run a command; give the exit code."""
    for stream in (sys.stdout, sys.stderr):
        if isinstance(stream, TextIOWrapper):
            stream.reconfigure(encoding="utf-8", errors="replace")
    try:
        options = command_line().parse_args(arguments)
        run: Callable[[argparse.Namespace], int] = options.run
        if run is OPEN.run:  # the app ends in its own way
            return run(options)
        with stopped_as_by_hand():
            return run(options)
    except KeyboardInterrupt:
        print("\nStopped. Nothing half-written was left behind.", file=sys.stderr)
        return STOPPED
    except BrokenPipeError:
        # The reader of our output has gone, as `head` does; Python would complain on exit.
        os.dup2(os.open(os.devnull, os.O_WRONLY), sys.stdout.fileno())
        return DONE
    except OSError as error:
        from riffract.cli.refused import told  # not before: `--help` needs nothing of it

        if told(error):
            return PROBLEM
        raise


def command_line() -> argparse.ArgumentParser:
    """Make the parser of all commands; what it reads has the command's `run`."""
    parser = _Parser(
        prog="riffract",
        description="From a written riff to a film that explains it.",
        epilog="Start with: riffract demo",
    )
    parser.add_argument("--version", action="version", version=f"riffract {__version__}")
    _add_commands(parser, COMMANDS, title="commands", metavar="COMMAND")
    return parser


class _Parser(argparse.ArgumentParser):
    """A parser that answers an unknown word with the nearest known one."""

    def error(self, message: str) -> NoReturn:
        """Say what is wrong and how to mend it; end with the code for wrong usage."""
        import difflib

        words = [word for word in sys.argv[1:] if not word.startswith("-")]
        known = [str(name) for a in self._actions for name in (a.choices or ())]
        near = [m for word in words for m in difflib.get_close_matches(word, known, n=1)]
        hint = f" Did you mean {near[0]}?" if near and "invalid choice" in message else ""
        print(f"{self.prog}: {message}.{hint}\n  mend: {self.prog} --help", file=sys.stderr)
        raise SystemExit(USAGE)


def _add_commands(
    parser: argparse.ArgumentParser,
    commands: Mapping[str, Usage | Group],
    *,
    title: str,
    metavar: str,
) -> None:
    group = parser.add_subparsers(title=title, metavar=metavar, required=True)
    for name, usage in commands.items():
        one = group.add_parser(
            name,
            help=usage.about,
            description=f"{usage.about[0].upper()}{usage.about[1:]}.",
            epilog=f"example: {usage.example}",
            formatter_class=argparse.RawDescriptionHelpFormatter,
        )
        if isinstance(usage, Group):
            _add_commands(one, usage.actions, title="actions", metavar="ACTION")
        else:
            usage.add(one)
            one.set_defaults(run=usage.run)
