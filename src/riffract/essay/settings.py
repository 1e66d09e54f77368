"""What `essay.toml` says."""

import difflib
from collections.abc import Iterator, Mapping, Sequence
from typing import Annotated, Any, Literal

import msgspec
import tomlkit
from tomlkit.exceptions import ParseError

from riffract.formats.problem import Problem, Severity

Seconds = Annotated[float, msgspec.Meta(ge=0.0, le=86_400.0)]
Text = Annotated[str, msgspec.Meta(max_length=2_000)]
LongText = Annotated[str, msgspec.Meta(max_length=20_000)]


class Anchor(msgspec.Struct, frozen=True, kw_only=True):
    """A moment that the analyst has fixed by ear: this bar and beat sounds at this second."""

    bar: Annotated[int, msgspec.Meta(ge=1)]
    seconds: Seconds
    beat: Annotated[float, msgspec.Meta(ge=1.0)] = 1.0


class Recording(msgspec.Struct, frozen=True, kw_only=True):
    """The recording that the film is to sound with.

    Attributes:
        file: its name in the essay's folder.
        starts_at_seconds: where in it the passage starts, if there are no anchors.
        anchors: fixed moments, by bar.
    """

    file: Annotated[str, msgspec.Meta(min_length=1, max_length=400)]
    starts_at_seconds: Seconds = 0.0
    anchors: tuple[Anchor, ...] = ()


class Film(msgspec.Struct, frozen=True, kw_only=True):
    """How the film is made.

    Attributes:
        width, height: of the picture, px, even.
        frames_per_second: pictures a second.
        look: colours.
        tone: of the rendering, where no recording is used.
    """

    width: Annotated[int, msgspec.Meta(ge=320, le=3840, multiple_of=2)] = 1920
    height: Annotated[int, msgspec.Meta(ge=180, le=2160, multiple_of=2)] = 1080
    frames_per_second: Annotated[int, msgspec.Meta(ge=12, le=60)] = 30
    look: Literal["dark", "paper"] = "dark"
    tone: Literal["driven", "clean"] = "driven"


class Settings(msgspec.Struct, frozen=True, kw_only=True):
    """All of `essay.toml`.

    Attributes:
        title, subtitle: for the first picture and the handout.
        passage: name of the file that holds the music.
        credits: who made what, a line each.
        rights: what others may do with it, and whose the music is.
        recording: the sound to use instead of a rendering.
        film: how the film is made.
        seed: of every random draw.
    """

    title: Text = ""
    subtitle: Text = ""
    passage: Annotated[str, msgspec.Meta(min_length=1, max_length=400)] = "passage.tab"
    credits: tuple[Text, ...] = ()
    rights: LongText = ""
    recording: Recording | None = None
    film: Film = Film()
    seed: Annotated[int, msgspec.Meta(ge=0, le=2**31)] = 1


def read_settings(text: str) -> tuple[Settings | None, tuple[Problem, ...]]:
    """Read `essay.toml`; unknown keys are let be, with a warning."""
    return read_toml(text, Settings)


def read_toml(text: str, kind: type[Any]) -> tuple[Any, tuple[Problem, ...]]:
    """Read TOML as a struct.

    Returns:
        The struct, or `None` if the text does not fit it, and all problems.
    """
    try:
        plain = tomlkit.parse(text).unwrap()
    except ParseError as error:
        problem = Problem(
            what=f"this is not TOML: {str(error).split(' at line')[0]}",
            mend="check quotes, brackets and equals signs on this line",
            line=error.line,
            column=error.col,
        )
        return None, (problem,)
    unknown = tuple(_unknown_keys(plain, kind, ""))
    try:
        return msgspec.convert(plain, kind), unknown
    except msgspec.ValidationError as error:
        what, _, where = str(error).partition(" - at ")
        place = where.strip("`").removeprefix("$").removeprefix(".") or "top level"
        wrong = Problem(
            what=f"{what[:1].lower()}{what[1:]}",
            mend=f"correct the value of {place}",
            line=_line_of(text, place),
            place=place,
        )
        return None, (wrong, *unknown)


def _unknown_keys(plain: Mapping[str, Any], kind: type[Any], path: str) -> Iterator[Problem]:
    known = {f.encode_name: f.type for f in msgspec.structs.fields(kind)}
    for key, value in plain.items():
        name = f"{path}{key}"
        if key not in known:
            near = difflib.get_close_matches(key, known, n=1)
            hint = f"did you mean {near[0]}?" if near else f"known here: {', '.join(known)}"
            yield Problem(
                what=f"the key {name} is not known and has no effect",
                mend=hint,
                place=name,
                severity=Severity.WARNING,
            )
            continue
        for inner in _structs_in(known[key]):
            rows = value if isinstance(value, Sequence) and not isinstance(value, str) else [value]
            for row in rows:
                if isinstance(row, Mapping):
                    yield from _unknown_keys(row, inner, f"{name}.")


def _structs_in(kind: Any) -> Iterator[type[Any]]:
    if isinstance(kind, type) and issubclass(kind, msgspec.Struct):
        yield kind
    for part in getattr(kind, "__args__", ()):
        yield from _structs_in(part)


def _line_of(text: str, place: str) -> int:
    """Guess the line of a key by its last name; 0 if it is not plain."""
    key = place.rpartition(".")[2].partition("[")[0]
    lines = [n for n, line in enumerate(text.splitlines(), 1) if line.lstrip().startswith(key)]
    return lines[0] if len(lines) == 1 else 0
