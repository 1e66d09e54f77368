"""The line of notes below a stack: what the shapes of its departures mean, what is not shown."""

from collections.abc import Callable, Sequence

from riffract.analysis.finding import Reading
from riffract.analysis.saying import say, say_count
from riffract.analysis.wording import listed
from riffract.picture.legend_lines import Entry
from riffract.picture.marks import Colour, Mark, Role, Shape, Stroke, polyline, rectangle
from riffract.picture.stack.departures import BEND_PX, DASH, WAITS
from riffract.picture.stack.rows import StackRow

MOST_NAMED = 4
_SAMPLE_PX, _SAMPLE_HIGH_PX = 34.0, 24.0


def stack_entries(rows: Sequence[StackRow], reading: Reading) -> tuple[Entry, ...]:
    """Explain the shapes that occur, what is faint, and what is left out."""
    kinds = {departure.kind for row in rows for departure in row.departures}
    entries = []
    if "missing" in kinds:
        entries.append(_entry(_dashed, "missing"))
    if "added" in kinds:
        entries.append(_entry(_bracket, "added"))
    elif "stretched" in kinds:
        entries.append(_entry(_bracket, "longer or shorter"))
    if "changed" in kinds:
        entries.append(_entry(_diamond, "changed"))
    if any(row.waits for row in rows):
        entries.append(_entry(_dotted, "others have more here"))
    model = next((row.number for row in rows if row.is_model), "")
    if model and any(not (row.is_tag or row.is_model) for row in rows):
        entries.append(_words(say("Faint: as in pass {number}.", number=model)))
    left_out = _left_out_words(rows, len(reading.passes))
    return (*entries, *([_words(left_out)] if left_out else []))


def _left_out_words(rows: Sequence[StackRow], whole: int) -> str:
    shown = {row.number for row in rows}
    left_out = [str(i + 1) for i in range(whole) if str(i + 1) not in shown]
    if len(left_out) > MOST_NAMED:
        return say("{count} of {whole} passes are not shown.", count=len(left_out), whole=whole)
    if not left_out:
        return ""
    return say_count(
        len(left_out),
        "Not shown: pass {passes}.",
        "Not shown: passes {passes}.",
        passes=listed(left_out),
    )


def _entry(path: Callable[[float, float], Shape], words: str) -> Entry:
    return Entry(width=_SAMPLE_PX, draw=lambda x, baseline: (path(x, baseline),), words=words)


def _words(words: str) -> Entry:
    return Entry(width=0.0, draw=_nothing, words=words, is_said=True)


def _nothing(_x: float, _baseline: float) -> tuple[Mark, ...]:
    return ()


def _dashed(x: float, baseline: float) -> Shape:
    box = rectangle(x, baseline - _SAMPLE_HIGH_PX, _SAMPLE_PX, _SAMPLE_HIGH_PX + 2.0)
    return Shape(path=box, stroke=Stroke(colour=Colour(Role.BEND), width=BEND_PX, dash=DASH))


def _bracket(x: float, baseline: float) -> Shape:
    top, foot, right = baseline - 16.0, baseline - 4.0, x + _SAMPLE_PX
    corners = [(x, foot), (x, top), (right, top), (right, foot)]
    return Shape(path=polyline(corners), stroke=_stroke())


def _diamond(x: float, baseline: float) -> Shape:
    y, half, middle = baseline - 10.0, _SAMPLE_HIGH_PX / 2 + 2.0, x + _SAMPLE_PX / 2
    corners = [(middle, y - half), (x + _SAMPLE_PX, y), (middle, y + half), (x, y)]
    return Shape(path=polyline(corners, closed=True), stroke=_stroke())


def _dotted(x: float, baseline: float) -> Shape:
    y = baseline - 10.0
    return Shape(path=polyline([(x, y), (x + _SAMPLE_PX, y)]), stroke=WAITS)


def _stroke() -> Stroke:
    return Stroke(colour=Colour(Role.BEND), width=BEND_PX)
