"""What a key, a click or a form does to the passage: from its name to an edit."""

from collections.abc import Callable, Mapping
from fractions import Fraction
from types import MappingProxyType
from typing import Final

import msgspec

from riffract.essay import draft as edits
from riffract.essay.draft import Clip, Cursor, Draft, Edited, Selection
from riffract.formats.tab.values import read_value
from riffract.music import Metre, Note, Span, Technique
from riffract.music.pitch import pitch_named
from riffract.studio.exact import exact
from riffract.studio.problems import RefusedError

TECHNIQUES: Final[Mapping[str, Technique]] = MappingProxyType(
    {flag.name.lower(): flag for flag in Technique if flag.name}
)


class At(msgspec.Struct, frozen=True, kw_only=True):
    """Where the cursor is; the offset in quarters, exact."""

    bar: int
    offset: str
    string: int


class Chosen(msgspec.Struct, frozen=True, kw_only=True):
    """What is selected, in quarters of the passage; all strings if none are named."""

    start: str
    end: str
    strings: tuple[int, ...] = ()


class Wanted(msgspec.Struct, frozen=True, kw_only=True):
    """Something to be done to the passage.

    Attributes:
        verb: its name, one of `VERBS`.
        at: the cursor.
        chosen: the selection; without it what starts at the cursor on its string.
        value: the value that is entered now, as the time row writes it.
        number: a fret, a count, how far.
        text: words, a technique, a metre …
        is_quick: whether it follows the last digit at once.
        is_ticked: whether the box in its form is: a metre for this bar only, a tuning in which the
            pitches stay.
    """

    verb: str
    at: At
    chosen: Chosen | None = None
    value: str = "e"
    number: float = 0
    text: str = ""
    is_quick: bool = False
    is_ticked: bool = False


Verb = Callable[[Draft, Wanted], Edited]


def done(draft: Draft, wanted: Wanted) -> Edited:
    """Do what is wanted.

    Raises:
        RefusedError: if there is no such verb, or what it is given makes no sense.
    """
    verb = VERBS.get(wanted.verb)
    if verb is None:
        raise RefusedError(f"nothing is called {wanted.verb}", mend="reload the page")
    try:
        return verb(draft, wanted)
    except (ValueError, ZeroDivisionError) as error:
        raise RefusedError(str(error), mend="look at what was written") from error


def cursor_of(wanted: Wanted) -> Cursor:
    """Give the cursor."""
    at = wanted.at
    return Cursor(bar=at.bar, offset_quarters=exact(at.offset), string=at.string)


def selection_of(draft: Draft, wanted: Wanted) -> Selection:
    """Give the selection; without one what starts at the cursor on its string."""
    if wanted.chosen is not None:
        span = Span(exact(wanted.chosen.start), exact(wanted.chosen.end))
        return Selection(span=span, strings=frozenset(wanted.chosen.strings))
    # The value that is entered now says nothing of what is there already: a long one would reach
    # the notes behind.
    start, note = _moment(draft, wanted), _note_at(draft, wanted)
    length = Fraction(1, 4096) if note is None else note.duration_quarters
    strings = frozenset({wanted.at.string})
    return Selection(span=Span(start, start + length), strings=strings)


def column_of(draft: Draft, wanted: Wanted) -> Selection:
    """Give the selection on all its strings; without one all that starts at the cursor."""
    chosen = selection_of(draft, wanted)
    if wanted.chosen is not None:
        return chosen
    start = chosen.span.start_quarters
    return Selection(span=Span(start, start + Fraction(1, 4096)))


def _moment(draft: Draft, wanted: Wanted) -> Fraction:
    return draft.moment(cursor_of(wanted))


def _value(wanted: Wanted) -> Fraction:
    value = read_value(wanted.value)
    if not isinstance(value, Fraction):
        raise RefusedError(value.what, mend=value.mend)
    return value


def _fret(draft: Draft, wanted: Wanted) -> Edited:
    """Put a digit at the cursor; a note that starts there keeps its value."""
    note = _note_at(draft, wanted)
    before = note.fret if note is not None and wanted.is_quick else None
    fret = edits.typed_fret(before, int(wanted.number), draft.passage.tuning)
    value = _value(wanted) if note is None else note.duration_quarters
    return edits.put(draft, cursor_of(wanted), fret, value)


def _note_at(draft: Draft, wanted: Wanted) -> Note | None:
    at, string = _moment(draft, wanted), wanted.at.string
    notes = draft.notes_in(
        Selection(span=Span(at, at + Fraction(1, 4096)), strings=frozenset({string}))
    )
    return next(notes, None)


def _put_kind(draft: Draft, wanted: Wanted, **kind: bool) -> Edited:
    note = _note_at(draft, wanted)
    fret = int(wanted.number) if note is None else note.fret
    value = _value(wanted) if note is None else note.duration_quarters
    return edits.put(draft, cursor_of(wanted), fret, value, **kind)


def _set_value(draft: Draft, wanted: Wanted) -> Edited:
    moves = wanted.text != "in place"
    return edits.set_value(draft, column_of(draft, wanted), _value(wanted), moves_rest=moves)


def _toggle(draft: Draft, wanted: Wanted) -> Edited:
    technique = TECHNIQUES.get(wanted.text)
    if technique is None:
        raise RefusedError(f"no note is played {wanted.text}", mend="reload the page")
    return edits.toggle(draft, selection_of(draft, wanted), technique)


def _bend(draft: Draft, wanted: Wanted) -> Edited:
    cents = [int(part) for part in wanted.text.replace(",", " ").split()]
    return edits.bend(draft, selection_of(draft, wanted), cents)


def _tuplet(draft: Draft, wanted: Wanted) -> Edited:
    notes, _, time = wanted.text.partition(":")
    return edits.tuplet(draft, column_of(draft, wanted), int(notes), int(time or 2))


def _metre(draft: Draft, wanted: Wanted) -> Edited:
    label, _, grouping = wanted.text.partition("=")
    count, _, unit = label.partition("/")
    groups = tuple(int(part) for part in grouping.split("+")) if grouping.strip() else (int(count),)
    if sum(groups) != int(count):
        raise RefusedError(
            f"{grouping.strip()} makes {sum(groups)}, the metre has {count.strip()}",
            mend="let the groups add up to the metre",
        )
    metre = Metre(groups=groups, unit=int(unit))
    changed = edits.set_metre(draft, wanted.at.bar, metre, is_only_here=wanted.is_ticked)
    return edits.with_empty_bars_fitted(changed)


def _tempo(draft: Draft, wanted: Wanted) -> Edited:
    tempo = wanted.number or None
    return edits.set_tempo(draft, cursor_of(wanted), tempo, is_ramp=wanted.text == "ramp")


def _tuning(draft: Draft, wanted: Wanted) -> Edited:
    pitches = [pitch_named(name) for name in wanted.text.split()]
    return edits.set_tuning(draft, pitches, keeps_pitches=wanted.is_ticked)


def _mend(draft: Draft, wanted: Wanted) -> Edited:
    for way in edits.mends(draft, wanted.at.bar):
        if way.words == wanted.text:
            return way.edited
    raise RefusedError("this bar needs no such mend any more", mend="look again")


def _grace(draft: Draft, wanted: Wanted) -> Edited:
    if wanted.text == "none":
        return edits.remove_graces(draft, cursor_of(wanted))
    return edits.add_grace(
        draft, cursor_of(wanted), int(wanted.number), slashed=wanted.text != "long"
    )


def _ring(draft: Draft, wanted: Wanted) -> Edited:
    """Let ring up to the end of the bar, or not any more."""
    selection = selection_of(draft, wanted)
    notes = list(draft.notes_in(selection))
    if not notes or all(note.techniques & Technique.LET_RING for note in notes):
        return edits.toggle(draft, selection, Technique.LET_RING)
    last = draft.passage.bar_at(notes[-1].onset_quarters)
    return edits.ring_until(draft, selection, last.span.end_quarters)


def _repeat(draft: Draft, wanted: Wanted) -> Edited:
    _refuse_nothing(draft, wanted)
    return edits.repeat(draft, _stretch(draft, wanted))


def _refuse_nothing(draft: Draft, wanted: Wanted) -> None:
    """Refuse a place without a note; a selection may hold silence only."""
    if wanted.chosen is None and _note_at(draft, wanted) is None:
        raise RefusedError("there is no note here", mend="go to one, or select some")


VERBS: Final[Mapping[str, Verb]] = MappingProxyType(
    {
        "fret": _fret,
        "dead": lambda d, w: _put_kind(d, w, dead=True),
        "harmonic": lambda d, w: _put_kind(d, w, harmonic=True),
        "erase": lambda d, w: edits.erase(d, selection_of(d, w)),
        "value": _set_value,
        "tuplet": _tuplet,
        "tie": lambda d, w: edits.tie(d, selection_of(d, w)),
        "split": lambda d, w: edits.split(d, selection_of(d, w), int(w.number) or 2),
        "insert time": lambda d, w: edits.insert_time(d, cursor_of(w), _value(w)),
        "delete time": lambda d, w: edits.delete_time(d, _stretch(d, w)),
        "shift": lambda d, w: edits.shift(d, selection_of(d, w), exact(w.text)),
        "carry": lambda d, w: edits.carry(d, selection_of(d, w), exact(w.text), int(w.number)),
        "toggle": _toggle,
        "ring": _ring,
        "bend": _bend,
        "trill": lambda d, w: edits.trill(d, selection_of(d, w), int(w.number)),
        "tremolo": lambda d, w: edits.tremolo(d, selection_of(d, w), int(w.number)),
        "grace": _grace,
        "refinger": lambda d, w: edits.refinger(d, selection_of(d, w), int(w.number)),
        "strings": lambda d, w: edits.move_strings(d, selection_of(d, w), int(w.number)),
        "transpose": lambda d, w: edits.transpose(d, selection_of(d, w), int(w.number)),
        "repeat": _repeat,
        "insert bar": lambda d, w: edits.insert_bars(d, w.at.bar + int(w.number), 1),
        "delete bars": lambda d, w: edits.delete_bars(d, *_bars(d, w)),
        "repeats": lambda d, w: edits.set_repeats(d, *_bars(d, w), int(w.number)),
        "metre": _metre,
        "pick-up": lambda d, w: edits.set_pick_up(
            d, Fraction(str(w.number)) * d.bar(1).metre.unit_quarters
        ),
        "declare length": lambda d, w: edits.declare_length(d, w.at.bar),
        "free": lambda d, w: edits.make_free(d, w.at.bar, is_free=not d.bar(w.at.bar).is_free),
        "section": lambda d, w: edits.set_section(d, w.at.bar, w.text.strip()),
        "tempo": _tempo,
        "fermata": lambda d, w: edits.toggle_fermata(d, cursor_of(w)),
        "title": lambda d, w: edits.set_title(d, w.text.strip()),
        "tuning": _tuning,
        "capo": lambda d, w: edits.set_neck(d, capo=int(w.number)),
        "frets": lambda d, w: edits.set_neck(d, frets=int(w.number)),
        "scale": lambda d, w: edits.set_neck(d, scale_length_mm=float(w.number)),
        "mend": _mend,
    }
)

TO_OTHER_STRINGS: Final = frozenset({"carry", "refinger", "strings"})
"""Verbs after which one goes on where the notes went."""


def _stretch(draft: Draft, wanted: Wanted) -> Selection:
    """Give a stretch of time: the selection's on all strings, or what starts at the cursor."""
    if wanted.chosen is not None:
        return Selection(span=selection_of(draft, wanted).span)
    start = _moment(draft, wanted)
    note = _note_at(draft, wanted)
    length = _value(wanted) if note is None else note.duration_quarters
    end = min(start + length, draft.bar(wanted.at.bar).span.end_quarters)
    return Selection(span=Span(start, end)) if end > start else Selection(span=Span(start, start))


def _bars(draft: Draft, wanted: Wanted) -> tuple[int, int]:
    if wanted.chosen is None:
        return wanted.at.bar, wanted.at.bar
    start, end = exact(wanted.chosen.start), exact(wanted.chosen.end)
    first = draft.passage.bar_at(start).number
    inside = [bar.number for bar in draft.passage.bars if bar.start_quarters < end]
    return first, max(inside[-1], first)


def copied(draft: Draft, wanted: Wanted) -> Clip:
    """Copy the selection, or what starts at the cursor."""
    _refuse_nothing(draft, wanted)
    return edits.copy(draft, selection_of(draft, wanted))
