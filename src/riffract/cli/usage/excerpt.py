"""How `riffract excerpt` is called."""

from argparse import ArgumentParser, ArgumentTypeError, Namespace
from typing import Final

from riffract.cli.usage.shared import add_choices, add_replace, choices, path_of
from riffract.cli.usage.usage import Usage


def _add(parser: ArgumentParser) -> None:
    parser.add_argument("path", type=path_of, help="a file of music, or an essay's folder")
    parser.add_argument(
        "target",
        type=path_of,
        metavar="OUT",
        help="what to write: a .wav, .flac, .m4a, .mp3 or .ogg file",
    )
    add_choices(parser)
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
    _add_sound(parser)
    add_replace(parser)


def _add_sound(parser: ArgumentParser) -> None:
    """Offer what is heard of it: which strings, whose playing, and a click."""
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


def _speed(text: str) -> float:
    try:
        speed = float(text.removesuffix("%"))
    except ValueError:
        speed = 0.0
    if text.endswith("%") or speed > 1.0:
        speed /= 100.0
    if not 0.25 <= speed <= 1.0:
        raise ArgumentTypeError(f"a speed is 25% to 100%, as 50% or 0.5, got {text!r}")
    return speed


def _loops(text: str) -> int:
    if not text.isdecimal() or not 1 <= int(text) <= 100:
        raise ArgumentTypeError(f"it is played 1 to 100 times, got {text!r}")
    return int(text)


def _strings(text: str) -> frozenset[int]:
    words = text.split(",")
    if not all(word.strip().isdecimal() and int(word) >= 1 for word in words):
        raise ArgumentTypeError(f"strings are numbers from 1 on, as 6,5, got {text!r}")
    return frozenset(int(word) for word in words)


def _count_in(text: str) -> int:
    if not text.isdecimal() or int(text) > 4:
        raise ArgumentTypeError(f"0 to 4 bars are counted in, got {text!r}")
    return int(text)


def _run(options: Namespace) -> int:
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
    return excerpt(options.path, options.target, choices(options), wanted, replace=options.replace)


EXCERPT: Final = Usage(
    about="make a sound file of some bars, slower, looped, or beside the recording",
    example="riffract excerpt essays/tide tide.wav --span 3-6 --speed 50% --loops 4",
    add=_add,
    run=_run,
)
