"""The command `riffract`: its arguments, its exit codes, and nothing else.

0: done. 1: the input has a problem. 2: wrong usage. 130: stopped with Ctrl-C.
"""

import argparse
import difflib
import os
import sys
from collections.abc import Callable, Sequence
from pathlib import Path
from typing import TYPE_CHECKING, Final, NoReturn, TypeAlias

from riffract import __version__

if TYPE_CHECKING:
    from riffract.formats.reading import ReadChoices

DONE, PROBLEM, USAGE, STOPPED = 0, 1, 2, 130
PARTS: Final = (
    *("film", "stills", "captions", "script", "findings", "handout"),
    *("chapters", "description", "passage", "timeline"),
)
MORE_PARTS: Final = ("page", "loops", "overlay")
ALL: Final = "all"
KINDS: Final = (
    *("passes", "mirror", "gesture", "sonority", "collection"),
    *("collection_change", "drone", "anchor", "motive", "pattern", "hand", "metre"),
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
    _add_open(commands)
    _add_check(commands)
    _add_study(commands)
    _add_hear(commands)
    _add_compare(commands)
    _add_corpus(commands)
    _add_publish(commands)
    _add_convert(commands)
    _add_excerpt(commands)
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
        help="the music: a file of plain-text tab, MusicXML or MIDI",
    )
    _add_choices(parser)
    _add_seed(parser)
    parser.set_defaults(command=_new)


def _add_open(commands: _Commands) -> None:
    parser = _command(
        commands,
        "open",
        "do the whole job by hand, in the browser of this machine",
        "riffract open essays/tide",
    )
    parser.add_argument(
        "folder",
        nargs="?",
        type=Path,
        help="the essay; without it: recent essays, a new one, the built-in one",
    )
    parser.add_argument(
        "--port", type=int, default=0, help="of the app's own server (default: any that is free)"
    )
    parser.add_argument(
        "--no-browser", action="store_true", help="only print the address; open no browser"
    )
    parser.set_defaults(command=_open)


def _add_check(commands: _Commands) -> None:
    parser = _command(
        commands,
        "check",
        "say what is wrong with a passage or an essay, or whether a package is whole and true",
        "riffract check passage.tab",
    )
    parser.add_argument(
        "path",
        type=Path,
        help="a file of music, an essay's folder, or a folder that publish has filled",
    )
    _add_choices(parser)
    parser.set_defaults(command=_check)


def _add_study(commands: _Commands) -> None:
    parser = _command(
        commands,
        "study",
        "find out how a passage is built, and how solid that is",
        "riffract study passage.tab --only mirror",
    )
    parser.add_argument("path", type=Path, help="a file of music, or an essay's folder")
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
    parser.add_argument(
        "--only",
        action="append",
        choices=KINDS,
        metavar="KIND",
        help=f"one of {', '.join(KINDS)}; may be given again; all are weighed together all the "
        "same",
    )
    parser.add_argument("--span", metavar="BARS", help="look at these bars only, as 3-6")
    parser.add_argument(
        "--earlier",
        action="extend",
        nargs="+",
        default=[],
        type=Path,
        metavar="FILE",
        help="files of music that it may grow out of, the earliest first",
    )
    _add_choices(parser)
    _add_seed(parser)
    parser.set_defaults(command=_study)


def _add_hear(commands: _Commands) -> None:
    parser = _command(
        commands,
        "hear",
        "find a passage in its recording, and say which notes that bears out",
        "riffract hear essays/tide",
    )
    parser.add_argument("path", type=Path, help="an essay's folder, or a file of music")
    parser.add_argument(
        "--recording",
        type=Path,
        metavar="FILE",
        help="what to listen to (default: the recording that essay.toml names); what is heard in "
        "another one is told, not kept",
    )
    parser.add_argument("--json", action="store_true", help="print what was heard as JSON")
    _add_choices(parser)
    parser.set_defaults(command=_hear)


def _add_compare(commands: _Commands) -> None:
    parser = _command(
        commands,
        "compare",
        "say how unusual a passage is among others, and what is like it",
        "riffract compare passage.tab --with transcriptions",
    )
    parser.add_argument("path", type=Path, help="a file of music, or an essay's folder")
    parser.add_argument(
        "--with",
        dest="corpus",
        type=Path,
        metavar="CORPUS",
        help="an index made by `corpus build`, or the folder it was made of (default: songs and "
        "quartets, mostly of the 19th century, as a table that comes with Riffract)",
    )
    parser.add_argument(
        "--attacks",
        type=int,
        choices=(8, 16, 32, 64, 128),
        help="how many attacks each window has (default: the most that fit)",
    )
    parser.add_argument("--json", action="store_true", help="print the answer as JSON")
    _add_choices(parser)
    parser.set_defaults(command=_compare)


def _add_corpus(commands: _Commands) -> None:
    parser = _command(
        commands,
        "corpus",
        "measure a folder of music, so that passages can be compared with it",
        "riffract corpus build transcriptions",
    )
    actions = parser.add_subparsers(metavar="ACTION", required=True, parser_class=_Parser)
    build = _command(
        actions,
        "build",
        "measure all music of a folder; what is known already is not read again",
        'riffract corpus build transcriptions --title "My transcriptions"',
    )
    build.add_argument("folder", type=Path, help="a folder with tab, MusicXML or MIDI in it")
    build.add_argument(
        "--into",
        type=Path,
        metavar="FILE",
        help="where the index is put (default: FOLDER/corpus.duckdb)",
    )
    build.add_argument("--title", help="what the corpus is called (default: as its folder)")
    build.add_argument("--provenance", metavar="WORDS", help="whose music it is, and from where")
    build.add_argument("--again", action="store_true", help="throw the index away and start anew")
    build.add_argument("--json", action="store_true", help="print what was done as JSON")
    build.add_argument(
        "--grid",
        metavar="VALUE",
        help="the value that notes lie on, as 1/16, or `bars`, for pasted tab",
    )
    build.set_defaults(command=_corpus_build)


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
        choices=(*PARTS, *MORE_PARTS, ALL),
        default=ALL,
        metavar="WHAT",
        help=f"any of {', '.join(PARTS)} (default: all of them), {', '.join(MORE_PARTS)}",
    )
    parser.add_argument("--out", type=Path, help="where to put it (default: FOLDER/out)")
    parser.add_argument(
        "--despite-flashing",
        action="store_true",
        help="write the film even if it flashes more than is safe for people with photosensitive "
        "epilepsy",
    )
    _add_choices(parser)
    parser.set_defaults(command=_publish)


def _add_convert(commands: _Commands) -> None:
    parser = _command(
        commands,
        "convert",
        "write a passage in another format",
        "riffract convert tide.tab tide.musicxml",
    )
    parser.add_argument("source", type=Path, metavar="IN", help="a file of music")
    parser.add_argument(
        "target",
        type=Path,
        metavar="OUT",
        help="what to write: .tab, .txt, .musicxml, .xml, .mxl, .mid or .midi",
    )
    _add_choices(parser)
    parser.add_argument(
        "--written-out", action="store_true", help="write repeats out instead of with signs"
    )
    parser.add_argument(
        "--width", type=_width, default=100, help="signs in a line of tab (default: 100)"
    )
    parser.add_argument("--replace", action="store_true", help="replace OUT if it is there already")
    parser.set_defaults(command=_convert)


def _add_excerpt(commands: _Commands) -> None:
    parser = _command(
        commands,
        "excerpt",
        "make a sound file of some bars, slower, looped, or beside the recording",
        "riffract excerpt essays/tide tide.wav --span 3-6 --speed 50% --loops 4",
    )
    parser.add_argument("path", type=Path, help="a file of music, or an essay's folder")
    parser.add_argument(
        "target",
        type=Path,
        metavar="OUT",
        help="what to write: a .wav, .flac, .m4a, .mp3 or .ogg file",
    )
    _add_choices(parser)
    parser.add_argument(
        "--span", metavar="BARS", help="play these bars only, as 3-6, or from beat to beat, 3:2-5:1"
    )
    parser.add_argument(
        "--speed",
        type=_speed,
        default=1.0,
        help="at the same pitch, 25%% to 100%% (default: 100%%)",
    )
    parser.add_argument(
        "--loops", type=_loops, default=1, metavar="N", help="how often to play it (default: 1)"
    )
    strings = parser.add_mutually_exclusive_group()
    strings.add_argument("--strings", type=_strings, help="these strings only, as 6,5; rendered")
    strings.add_argument(
        "--without", type=_strings, default=frozenset(), metavar="STRINGS", help="all but these"
    )
    parser.add_argument(
        "--sound",
        choices=("recording", "rendering", "both", "sides"),
        help="what to hear: `both` in turn, `sides` the recording left and the rendering right "
        "(default: the recording if there is one)",
    )
    parser.add_argument(
        "--tone", choices=("clean", "edge", "driven", "high"), help="of a rendering"
    )
    parser.add_argument("--click", action="store_true", help="click the metre")
    parser.add_argument(
        "--count-in", type=_count_in, default=0, metavar="N", help="bars to count in (default: 0)"
    )
    parser.add_argument("--replace", action="store_true", help="replace OUT if it is there already")
    parser.set_defaults(command=_excerpt)


def _speed(text: str) -> float:
    try:
        speed = float(text.removesuffix("%"))
    except ValueError:
        speed = 0.0
    if text.endswith("%") or speed > 1.0:
        speed /= 100.0
    if not 0.25 <= speed <= 1.0:
        raise argparse.ArgumentTypeError(f"a speed is 25% to 100%, as 50% or 0.5, got {text!r}")
    return speed


def _loops(text: str) -> int:
    if not text.isdecimal() or not 1 <= int(text) <= 100:
        raise argparse.ArgumentTypeError(f"it is played 1 to 100 times, got {text!r}")
    return int(text)


def _count_in(text: str) -> int:
    if not text.isdecimal() or int(text) > 4:
        raise argparse.ArgumentTypeError(f"0 to 4 bars are counted in, got {text!r}")
    return int(text)


def _strings(text: str) -> frozenset[int]:
    words = text.split(",")
    if not all(word.strip().isdecimal() and int(word) >= 1 for word in words):
        raise argparse.ArgumentTypeError(f"strings are numbers from 1 on, as 6,5, got {text!r}")
    return frozenset(int(word) for word in words)


def _width(text: str) -> int:
    if not text.isdecimal() or not 20 <= int(text) <= 10_000:
        raise argparse.ArgumentTypeError(f"a line has 20 to 10000 signs, got {text!r}")
    return int(text)


def _add_choices(parser: argparse.ArgumentParser) -> None:
    """Offer what some files of music leave open."""
    parser.add_argument("--part", metavar="NAME", help="which part or passage of the file")
    parser.add_argument(
        "--grid",
        metavar="VALUE",
        help="the value that notes lie on, as 1/16, or `bars`, for pasted tab and MIDI",
    )
    parser.add_argument(
        "--tuning",
        metavar="STRINGS",
        help='for pasted tab and MIDI, low to high: "E2 A2 D3 G3 B3 E4"',
    )


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

    seed = 1 if options.seed is None else options.seed
    return new(options.folder, options.passage, _choices(options), seed=seed)


def _check(options: argparse.Namespace) -> int:
    from riffract.cli.check import check

    return check(options.path, _choices(options))


def _study(options: argparse.Namespace) -> int:
    from riffract.cli.study import study

    return study(
        options.path,
        _choices(options),
        form=options.form or "notes",
        only=options.only,
        span=options.span,
        everything=options.all,
        seed=options.seed,
        earlier=options.earlier,
    )


def _hear(options: argparse.Namespace) -> int:
    from riffract.cli.hear import hear

    return hear(options.path, options.recording, _choices(options), as_json=options.json)


def _compare(options: argparse.Namespace) -> int:
    from riffract.cli.compare import compare

    return compare(
        options.path,
        options.corpus,
        _choices(options),
        attacks=options.attacks,
        as_json=options.json,
    )


def _corpus_build(options: argparse.Namespace) -> int:
    from riffract.cli.corpus import build

    options.part = options.tuning = None
    return build(
        options.folder,
        options.into,
        _choices(options),
        title=options.title,
        provenance=options.provenance,
        is_anew=options.again,
        as_json=options.json,
    )


def _open(options: argparse.Namespace) -> int:
    from riffract.cli.open import open_app

    return open_app(options.folder, port=options.port, with_browser=not options.no_browser)


def _publish(options: argparse.Namespace) -> int:
    from riffract.cli.publish import publish_path

    what = options.what
    if ALL in what:
        what = [*PARTS, *(part for part in MORE_PARTS if part in what)]
    return publish_path(
        options.path,
        what,
        _choices(options),
        out=options.out,
        despite_flashing=options.despite_flashing,
    )


def _convert(options: argparse.Namespace) -> int:
    from riffract.cli.convert import convert

    return convert(
        options.source,
        options.target,
        _choices(options),
        folded=not options.written_out,
        width=options.width,
        replace=options.replace,
    )


def _excerpt(options: argparse.Namespace) -> int:
    from riffract.cli.excerpt import excerpt
    from riffract.essay.listening import Wanted

    wanted = Wanted(
        span=options.span,
        speed=options.speed,
        loops=options.loops,
        strings=options.strings,
        without=options.without,
        sound=options.sound,
        tone=options.tone,
        click=options.click,
        count_in=options.count_in,
    )
    return excerpt(options.path, options.target, _choices(options), wanted, replace=options.replace)


def _choices(options: argparse.Namespace) -> "ReadChoices":
    """Make choices of words; a word that is none ends the program as wrong usage does."""
    from riffract.cli.choices import ChoiceError, choices_of

    try:
        return choices_of(part=options.part, grid=options.grid, tuning=options.tuning)
    except ChoiceError as error:
        print(f"riffract: {error}", file=sys.stderr)
        raise SystemExit(USAGE) from None
