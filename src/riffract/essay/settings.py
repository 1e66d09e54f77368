"""What `essay.toml` says."""

import difflib
from collections.abc import Iterator
from typing import Annotated, Final, Literal

import msgspec

from riffract.essay.film_size import ShapeName, picture_size, size_problem
from riffract.essay.toml.values import checked, located
from riffract.formats.problem import Problem
from riffract.sound.ducking import DEPTH_DB
from riffract.sound.loudness import CEILING_DBTP, TARGET_LUFS

Seconds = Annotated[float, msgspec.Meta(ge=0.0, le=86_400.0)]
Text = Annotated[str, msgspec.Meta(max_length=2_000)]
FileName = Annotated[str, msgspec.Meta(min_length=1, max_length=400)]
LongText = Annotated[str, msgspec.Meta(max_length=20_000)]


class Anchor(msgspec.Struct, frozen=True, kw_only=True):
    """A moment that the analyst has fixed by ear: this bar and beat sounds at this second."""

    bar: Annotated[int, msgspec.Meta(ge=1, le=100_000)]
    seconds: Seconds
    beat: Annotated[float, msgspec.Meta(ge=1.0, le=1_000.0)] = 1.0


class Marker(msgspec.Struct, frozen=True, kw_only=True):
    """A place in the recording that the analyst has named, to come back to."""

    name: Annotated[str, msgspec.Meta(min_length=1, max_length=200)]
    seconds: Seconds


class Recording(msgspec.Struct, frozen=True, kw_only=True):
    """The recording that the film is to sound with.

    Attributes:
        file: its name in the essay's folder.
        starts_at_seconds: where in it the passage starts, if there are no anchors.
        anchors: fixed moments, by bar.
        markers: named places; nothing hangs on them.
        heard: notes that the analyst hears as written, whatever the recording seems to say, as
            `bar:beat:string`.
    """

    file: FileName
    starts_at_seconds: Seconds = 0.0
    anchors: tuple[Anchor, ...] = ()
    markers: tuple[Marker, ...] = ()
    heard: tuple[Annotated[str, msgspec.Meta(pattern=r"^\d+:[\d./ ]+:\d+$")], ...] = ()


class Film(msgspec.Struct, frozen=True, kw_only=True):
    """How the film is made.

    Attributes:
        shape: of the picture, width to height.
        width, height: of the picture, px, even; what is not given follows from the shape.
        frames_per_second: pictures a second.
        look: colours: `dark`, `paper`, or the name of a look file in the essay's folder.
        overlay: what `publish FOLDER overlay` makes.
        overlay_captions: whether the overlay holds the words that are said.
        tone: of the rendering, where no recording is used.
        loudness_lufs: what its sound is brought to, as ITU-R BS.1770 counts it.
        peak_dbtp: what no true peak of it exceeds, be it softer for that.
        duck_db: how much softer the music is while somebody speaks.
        target_seconds: how long the analyst wants it to be; nothing is cut for it.
    """

    shape: ShapeName | None = None
    width: Annotated[int, msgspec.Meta(ge=320, le=3840, multiple_of=2)] | None = None
    height: Annotated[int, msgspec.Meta(ge=180, le=3840, multiple_of=2)] | None = None
    frames_per_second: Annotated[int, msgspec.Meta(ge=12, le=60)] = 30
    look: FileName = "dark"
    overlay: Literal["prores", "vp9", "png"] = "prores"
    overlay_captions: bool = False
    tone: Literal["driven", "clean", "edge", "high"] = "driven"
    loudness_lufs: Annotated[float, msgspec.Meta(ge=-31.0, le=-9.0)] = TARGET_LUFS
    peak_dbtp: Annotated[float, msgspec.Meta(ge=-9.0, le=0.0)] = CEILING_DBTP
    duck_db: Annotated[float, msgspec.Meta(ge=0.0, le=40.0)] = DEPTH_DB
    target_seconds: Annotated[float, msgspec.Meta(ge=5.0, le=3_600.0)] | None = None

    @property
    def size_px(self) -> tuple[int, int]:
        """Width and height of the picture."""
        return picture_size(self.shape, self.width, self.height)


class HandoutSettings(msgspec.Struct, frozen=True, kw_only=True):
    """How the handout is made.

    Attributes:
        paper: A4, or the letter of North America.
        questions: whether there is a second one for lessons, `handout-questions.pdf`, that asks
            first and answers on later pages.
    """

    paper: Literal["a4", "letter"] = "a4"
    questions: bool = False


class Settings(msgspec.Struct, frozen=True, kw_only=True):
    """All of `essay.toml`.

    Attributes:
        title, subtitle: for the first picture and the handout.
        passage: name of the file that holds the music.
        earlier: names of files with passages that it grows out of, the earliest first; if none are
            named, the music in the folder `earlier`, by name.
        credits: who made what, a line each.
        rights: what others may do with it, and whose the music is.
        recording: the sound to use instead of a rendering.
        film: how the film is made.
        handout: how the handout is made.
        seed: of every random draw.
        language: of film and papers, as BCP 47 writes it.
    """

    title: Text = ""
    subtitle: Text = ""
    passage: FileName = "passage.tab"
    earlier: tuple[FileName, ...] = ()
    credits: tuple[Text, ...] = ()
    rights: LongText = ""
    recording: Recording | None = None
    film: Film = Film()
    handout: HandoutSettings = HandoutSettings()
    seed: Annotated[int, msgspec.Meta(ge=0, le=2**31)] = 1
    language: Annotated[str, msgspec.Meta(min_length=2, max_length=40)] = "en"

    @property
    def heard_by_ear(self) -> tuple[str, ...]:
        """Places of notes that the analyst hears as written, whatever the recording says."""
        return () if self.recording is None else self.recording.heard


LOOK_NAMES: Final = ("dark", "paper")
LOOK_FILE_ENDING: Final = ".toml"


def read_settings(text: str) -> tuple[Settings | None, tuple[Problem, ...]]:
    """Read `essay.toml`; unknown keys are let be, with a warning."""
    read = checked(text, Settings)
    if isinstance(read, Problem):
        return None, (read,)
    found = (
        located(problem, ("film", key), read.lines)
        for key, problem in _film_problems(read.value.film)
        if ("film", key) not in read.wrong
    )
    problems = sorted((*read.problems, *found), key=lambda problem: problem.line)
    return read.value, tuple(problems)


def _film_problems(film: Film) -> Iterator[tuple[str, Problem]]:
    """Find what each key alone does not show: its name, and what is wrong."""
    size = size_problem(film.shape, film.width, film.height)
    if size is not None:
        given = [key for key in ("width", "height", "shape") if getattr(film, key) is not None]
        yield given[0], size
    if film.look not in LOOK_NAMES and not film.look.endswith(LOOK_FILE_ENDING):
        near = difflib.get_close_matches(film.look.lower(), LOOK_NAMES, n=1)
        yield (
            "look",
            Problem(
                what=f'"{film.look}" is neither {" nor ".join(LOOK_NAMES)}, and no look file',
                mend=f'did you mean "{near[0]}"?'
                if near
                else f"write one of them, or a file name that ends with {LOOK_FILE_ENDING}",
            ),
        )
