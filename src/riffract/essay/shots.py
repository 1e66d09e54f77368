"""Shots: what is shown, said and played, and when."""

from dataclasses import dataclass, replace
from enum import StrEnum
from fractions import Fraction

from riffract.music import Span, TimeMap
from riffract.weighing.study import WeighedFinding


class SceneName(StrEnum):
    """The pictures that a claim can be shown as."""

    TITLE = "title"
    PAGE = "page"
    CONTOUR = "contour"
    FOLD = "fold"
    STACK = "stack"
    CLOCK = "clock"
    THREAD = "thread"
    GROWTH = "growth"
    HAND = "hand"
    METRE = "metre"
    WEIGHT = "weight"
    WHOLE = "whole"
    CREDITS = "credits"


@dataclass(frozen=True, slots=True, kw_only=True)
class Play:
    """An excerpt that sounds within a shot.

    Attributes:
        at_seconds: when it starts, from the start of the shot.
        span: what is played.
        speed: 1 is the passage's own tempo; 0.5 is half as fast.
        time_map: the passage's own.
        strings: the strings that are heard; `None` for all.
    """

    at_seconds: float
    span: Span
    speed: float
    time_map: TimeMap
    strings: tuple[int, ...] | None = None

    @property
    def length_seconds(self) -> float:
        """From the first moment of the span to its last."""
        return self._since_start(self.span.end_quarters)

    def seconds_at(self, quarters: Fraction) -> float:
        """Tell when, from the start of the shot, a moment of the score sounds."""
        return self.at_seconds + self._since_start(quarters)

    def quarters_at(self, seconds: float) -> float | None:
        """Tell what moment of the score sounds at a moment of the shot; `None` if none does."""
        since = seconds - self.at_seconds
        if not 0.0 <= since < self.length_seconds:
            return None
        start = self.time_map.seconds_at(self.span.start_quarters)
        return self.time_map.quarters_at(start + since * self.speed)

    def _since_start(self, quarters: Fraction) -> float:
        start = self.time_map.seconds_at(self.span.start_quarters)
        return (self.time_map.seconds_at(quarters) - start) / self.speed


@dataclass(frozen=True, slots=True, kw_only=True)
class Line:
    """Words under the picture, from one moment of the shot to another, in seconds."""

    text: str
    start_seconds: float
    end_seconds: float


@dataclass(frozen=True, slots=True, kw_only=True)
class Voice:
    """Somebody speaks in a shot.

    Attributes:
        take: the recording, by its name in the essay's folder.
        at_seconds: when it starts, from the start of the shot.
        length_seconds: how long it lasts.
    """

    take: str
    at_seconds: float
    length_seconds: float


@dataclass(frozen=True, slots=True, kw_only=True)
class Doubt:
    """A note that the recording does not bear out.

    Attributes:
        note: index into the passage's notes.
        is_contradicted: whether something else fits the recording better; otherwise it is unclear.
    """

    note: int
    is_contradicted: bool


@dataclass(frozen=True, slots=True, kw_only=True)
class Shot:
    """One claim, one picture, one thing to listen for.

    Attributes:
        name: unique within the essay, for file names: `03-fold`.
        scene: the picture.
        title: the claim, one plain sentence.
        lines: what is said, in order, not overlapping.
        plays: what sounds, in order, not overlapping.
        length_seconds: how long the shot lasts.
        findings: what is shown; the first is the claim's own.
        details: further lines for a title or a credits card.
        voice: who speaks in it; `None` if its words are read.
        doubts: notes that the recording does not bear out, each once.
        with_profile: whether the clock shows how its sets are spread, by their Fourier magnitudes.
        shown: where a shot without music looks, if not all of the passage fits; `None` for where
            its finding is.
    """

    name: str
    scene: SceneName
    title: str
    lines: tuple[Line, ...]
    plays: tuple[Play, ...]
    length_seconds: float
    findings: tuple[WeighedFinding, ...] = ()
    details: tuple[str, ...] = ()
    voice: Voice | None = None
    doubts: tuple[Doubt, ...] = ()
    with_profile: bool = False
    shown: Span | None = None

    @property
    def looks_at(self) -> Span | None:
        """What is seen of the passage while nothing sounds; `None` for its beginning."""
        spans = [span for weighed in self.findings[:1] for span in weighed.finding.spans]
        return self.shown or next(iter(spans), None)

    def as_still(self) -> "Shot":
        """Give the shot as a picture that stands alone: it looks where its music starts."""
        shown = self.plays[0].span if self.plays else self.shown
        return replace(self, plays=(), lines=(), shown=shown)

    def sounding_quarters(self, seconds: float) -> float | None:
        """Tell which moment of the score is heard at a moment of the shot; `None` in silence."""
        for play in self.plays:
            quarters = play.quarters_at(seconds)
            if quarters is not None:
                return quarters
        return None
