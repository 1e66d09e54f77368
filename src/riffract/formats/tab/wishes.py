"""What the notes of one line ask of the rows above them."""

from collections.abc import Mapping, Sequence
from dataclasses import dataclass, field
from fractions import Fraction
from typing import Final

from riffract.formats.tab.columns import Column
from riffract.formats.tab.extents import Run, Wish, columns_for, in_few_rows, runs_for
from riffract.music import Note, Technique

ENTERS: Final = -1
"""The start of a run that comes in through the opening bar line of a line."""

_SIGNED: Final = ("accent", "staccato", "pick", "trem")
_RINGS: Final = int(Technique.LET_RING)
_MUTES: Final = int(Technique.PALM_MUTE)
_SIGNS: Final = int(
    Technique.ACCENT
    | Technique.STACCATO
    | Technique.DOWN_STROKE
    | Technique.UP_STROKE
    | Technique.TREMOLO
)
"""Without any of these no row of signs is needed; most lines have none."""
_PLAIN_SIGNS: Final = {
    "pm": (Technique.PALM_MUTE, "-"),
    "accent": (Technique.ACCENT, ">"),
    "staccato": (Technique.STACCATO, "."),
}


@dataclass(frozen=True, slots=True, kw_only=True)
class RowAbove:
    """A row of runs above the strings; a single sign is a run that ends where it starts.

    Attributes:
        label: with the strings it is meant for: `ring`, `pm 6,7`.
        runs: by index of column. A run ends in front of its second number; that is the number
            of columns if it ends with the line, and one more if it goes on in the next line.
        signs: what each of them is drawn with.
    """

    label: str
    runs: Sequence[Run]
    signs: Sequence[str]


@dataclass(frozen=True, slots=True, kw_only=True)
class Line:
    """The columns of one line of bars.

    Attributes:
        columns: from left to right.
        end_quarters: of its last bar.
        ringing: the last note of each string before the line.
        next_onsets: when the string of a note is struck again, by index of the note.
    """

    columns: Sequence[Column]
    end_quarters: Fraction
    ringing: Mapping[int, Note]
    next_onsets: Mapping[int, Fraction]
    _index: dict[Fraction, int] = field(default_factory=dict)

    def __post_init__(self) -> None:
        self._index.update({column.at_quarters: i for i, column in enumerate(self.columns)})

    def rows_above(self) -> list[RowAbove]:
        """List the rows that the line needs, from the top down."""
        said = self._techniques()
        rows = _run_rows("ring", self._ring_wishes()) if said & _RINGS else []
        rows += _run_rows("hold", self._hold_wishes())
        rows += _run_rows("pm", self._palm_wishes()) if said & _MUTES else []
        for label in _SIGNED:
            rows += _sign_rows(label, self._signs(label)) if said & _SIGNS else []
        return rows

    def _techniques(self) -> int:
        """Gather what any note of the line, or any that rings into it, is played with."""
        said = 0
        for note in self.ringing.values():
            said |= int(note.techniques) & _RINGS
        for column in self.columns:
            for piece in column.pieces:
                said |= int(piece.note.techniques)
        return said

    def _index_of(self, quarters: Fraction) -> int:
        """Give the column of a moment; behind the last one, the end of the line or beyond."""
        count = len(self.columns)
        return self._index.get(quarters, count if quarters == self.end_quarters else count + 1)

    def _cut_of(self, note: Note) -> int:
        onset = self.next_onsets.get(note.index)
        beyond = len(self.columns) + 2
        return beyond if onset is None or onset > self.end_quarters else self._index_of(onset)

    def _ring_wishes(self) -> dict[int, list[Wish]]:
        wishes: dict[int, list[Wish]] = {}
        starting = [(ENTERS, note) for note in self.ringing.values() if self._rings_in(note)]
        starting += [
            (i, piece.note)
            for i, column in enumerate(self.columns)
            for piece in column.pieces
            if piece.is_struck
        ]
        for start, note in starting:
            rings = Technique.LET_RING in note.techniques
            end = self._index_of(note.ring_end_quarters) if rings else start + 1
            cut = self._cut_of(note) if rings else end
            wish = Wish(start=start, end=end, cut=cut, must=rings, may=rings)
            wishes.setdefault(note.string, []).append(wish)
        return wishes

    def _rings_in(self, note: Note) -> bool:
        start = self.columns[0].at_quarters
        return Technique.LET_RING in note.techniques and note.ring_end_quarters > start

    def _hold_wishes(self) -> dict[int, list[Wish]]:
        wishes: dict[int, list[Wish]] = {}
        cuts: dict[int, int] = {}
        for i in range(len(self.columns) - 1, -1, -1):
            for piece in self.columns[i].pieces:
                end = self._index_of(piece.end_quarters)
                cut = cuts.get(piece.note.string, len(self.columns) + 2)
                wish = Wish(start=i, end=end, cut=cut, must=end > i + 1, may=True)
                wishes.setdefault(piece.note.string, []).append(wish)
                cuts[piece.note.string] = i
        return wishes

    def _palm_wishes(self) -> dict[int, list[Wish]]:
        wishes: dict[int, list[Wish]] = {}
        for string, signs in self._signs("pm").items():
            wishes[string] = [
                Wish(start=i, end=i + 1, cut=i + 1, must=bool(sign), may=bool(sign))
                for i, sign in signs
            ]
        return wishes

    def _signs(self, label: str) -> dict[int, list[tuple[int, str]]]:
        signs: dict[int, list[tuple[int, str]]] = {}
        for i, column in enumerate(self.columns):
            for piece in column.pieces:
                if piece.is_struck:
                    sign = _sign_for(label, piece.note)
                    signs.setdefault(piece.note.string, []).append((i, sign))
        return signs


def _sign_for(label: str, note: Note) -> str:
    """Give the sign that a row needs over a note; nothing if it needs none."""
    techniques = note.techniques
    if label == "trem" and Technique.TREMOLO in techniques:
        return "/" * note.tremolo_marks or "~"
    if label == "pick":
        is_up = Technique.UP_STROKE in techniques
        return "d" if Technique.DOWN_STROKE in techniques else "u" * is_up
    technique, sign = _PLAIN_SIGNS.get(label, (Technique(0), ""))
    return sign if techniques & technique else ""


def _run_rows(label: str, wishes: Mapping[int, Sequence[Wish]]) -> list[RowAbove]:
    needed = sorted(string for string, asked in wishes.items() if any(w.must for w in asked))
    return [
        RowAbove(label=_labelled(label, strings), runs=runs, signs=["-"] * len(runs))
        for strings, runs in in_few_rows(wishes, needed, runs_for)
    ]


def _sign_rows(label: str, signs: Mapping[int, Sequence[tuple[int, str]]]) -> list[RowAbove]:
    needed = sorted(string for string, asked in signs.items() if any(sign for _, sign in asked))
    return [
        RowAbove(
            label=_labelled(label, strings),
            runs=[(i, i) for i, _ in found],
            signs=[sign for _, sign in found],
        )
        for strings, found in in_few_rows(signs, needed, columns_for)
    ]


def _labelled(label: str, strings: Sequence[int]) -> str:
    return f"{label} {','.join(map(str, strings))}" if strings else label
