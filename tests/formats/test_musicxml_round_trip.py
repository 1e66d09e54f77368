"""Music composed at random, written as MusicXML by the tests, and read back to the note."""

from dataclasses import dataclass, field
from fractions import Fraction
from math import lcm

from hypothesis import given, settings
from hypothesis import strategies as st
from tests.formats.musicxml_writing import attributes, backup, note, passage_in, rest, score

from riffract.music import NoteTable, NoteTableBuilder, Technique

EIGHT = (28, 35, 40, 45, 50, 55, 59, 64)
TIE_START, TIE_STOP = '<tie type="start"/>', '<tie type="stop"/>'


@dataclass(frozen=True)
class Cell:
    """A rhythm of equal notes: name, dots, tuplet, and how many."""

    kind: str
    dots: int
    actual: int
    normal: int
    count: int

    @property
    def value_quarters(self) -> Fraction:
        plain = {"half": Fraction(2), "quarter": Fraction(1)}
        plain |= {"eighth": Fraction(1, 2), "16th": Fraction(1, 4)}
        return plain[self.kind] * (2 - Fraction(1, 2**self.dots)) * self.normal / self.actual

    @property
    def tags(self) -> str:
        tuplet = (
            f"<time-modification><actual-notes>{self.actual}</actual-notes>"
            f"<normal-notes>{self.normal}</normal-notes></time-modification>"
        )
        dots = "<dot/>" * self.dots
        return f"<type>{self.kind}</type>{dots}{tuplet if self.actual > 1 else ''}"


CELLS = (
    Cell("half", 0, 1, 1, 1),
    Cell("quarter", 0, 1, 1, 1),
    Cell("quarter", 1, 1, 1, 1),
    Cell("quarter", 2, 1, 1, 1),
    Cell("eighth", 0, 1, 1, 2),
    Cell("16th", 0, 1, 1, 3),
    Cell("eighth", 0, 3, 2, 3),
    Cell("16th", 0, 5, 4, 5),
    Cell("16th", 0, 7, 4, 7),
    Cell("quarter", 0, 3, 2, 3),
)
TECHNIQUES = (
    Technique(0),
    Technique.PALM_MUTE,
    Technique.LET_RING,
    Technique.ACCENT,
    Technique.STACCATO,
)
NOTATIONS = {
    Technique.LET_RING: '<tied type="let-ring"/>',
    Technique.ACCENT: "<articulations><accent/></articulations>",
    Technique.STACCATO: "<articulations><staccato/></articulations>",
}
PALM = "<play><mute>palm</mute></play>"


@dataclass(frozen=True)
class Struck:
    """A note of a slot: string, fret, technique, and whether a tie leads on to the next slot."""

    string: int
    fret: int
    technique: Technique
    is_tied_on: bool


@dataclass
class Music:
    """Bars of two voices, each a list of (cell, notes of each of its slots)."""

    bars: list[list[list[tuple[Cell, list[list[Struck]]]]]] = field(default_factory=list)


@st.composite
def slots(draw: st.DrawFn, strings: range) -> list[Struck]:
    chosen = draw(st.lists(st.sampled_from(list(strings)), max_size=3, unique=True))
    technique = st.sampled_from(TECHNIQUES)
    return [
        Struck(s, draw(st.integers(0, 24)), draw(technique), draw(st.booleans())) for s in chosen
    ]


@st.composite
def musics(draw: st.DrawFn) -> Music:
    music = Music()
    for _ in range(draw(st.integers(1, 4))):
        bar = []
        for strings in (range(1, 5), range(5, 9)):
            cells = draw(st.lists(st.sampled_from(CELLS), min_size=1, max_size=4))
            bar.append([(c, [draw(slots(strings)) for _ in range(c.count)]) for c in cells])
        music.bars.append(bar)
    return music


def bar_lengths(music: Music) -> list[Fraction]:
    """Give the length of each bar: that of its longer voice."""
    return [
        max(sum((c.value_quarters * c.count for c, _ in voice), Fraction(0)) for voice in bar)
        for bar in music.bars
    ]


def written(music: Music) -> bytes:
    """Write the music bar by bar, the second voice after a backup, rests up to the bar line."""
    values = [c.value_quarters for bar in music.bars for voice in bar for c, _ in voice]
    divisions = lcm(*(value.denominator for value in values))
    tied: dict[int, set[tuple[int, int]]] = {0: set(), 1: set()}
    texts = []
    for bar, length in zip(music.bars, bar_lengths(music), strict=True):
        full = int(length * divisions)
        voices = []
        for number, voice in enumerate(bar):
            text, left = "", full
            for cell, contents in voice:
                ticks = int(cell.value_quarters * divisions)
                left -= ticks * cell.count
                for slot in contents:
                    text += written_slot(slot, ticks, cell, number, tied[number])
                    tied[number] = {(s.string, s.fret) for s in slot if s.is_tied_on}
            if left:
                text += rest(left)
                tied[number] = set()
            voices.append(text)
        texts.append(backup(full).join(voices))
    free = "<time><senza-misura/></time>"
    return score(*texts, start=attributes(divisions=divisions, signature=free, tuning=EIGHT))


def written_slot(
    slot: list[Struck], ticks: int, cell: Cell, voice: int, tied: set[tuple[int, int]]
) -> str:
    before = f"<voice>{voice + 1}</voice>{cell.tags}"
    if not slot:
        return rest(ticks, before)
    return "".join(
        note(
            s.string,
            s.fret,
            ticks,
            tuning=EIGHT,
            first="<chord/>" if i else "",
            tied=(TIE_STOP if (s.string, s.fret) in tied else "")
            + (TIE_START if s.is_tied_on else ""),
            before=before,
            notations=NOTATIONS.get(s.technique, ""),
            after=PALM if s.technique is Technique.PALM_MUTE else "",
        )
        for i, s in enumerate(slot)
    )


@dataclass
class Sounding:
    """A note as it should come out: ties joined."""

    start: Fraction
    end: Fraction
    string: int
    fret: int
    techniques: Technique


def expected_notes(music: Music) -> list[Sounding]:
    """Lay the notes in time and join ties, straight from the music, without any file."""
    found: list[Sounding] = []
    for number in (0, 1):
        bar_start = Fraction(0)
        tied: dict[tuple[int, int], Sounding] = {}
        for bar, length in zip(music.bars, bar_lengths(music), strict=True):
            at = bar_start
            for cell, contents in bar[number]:
                for slot in contents:
                    end = at + cell.value_quarters
                    next_tied = {}
                    for s in slot:
                        whole = tied.get((s.string, s.fret))
                        if whole is None:
                            whole = Sounding(at, end, s.string, s.fret, s.technique)
                            found.append(whole)
                        whole.end = end
                        whole.techniques |= s.technique
                        if s.is_tied_on:
                            next_tied[s.string, s.fret] = whole
                    tied = next_tied
                    at = end
            bar_start += length
            if at != bar_start:
                tied = {}
    return found


def expected_table(music: Music) -> NoteTable:
    """Build the note table that reading must give, with the ringing rule spelled out."""
    end_of_all = sum(bar_lengths(music), Fraction(0))
    notes = expected_notes(music)
    builder = NoteTableBuilder()
    for n in notes:
        rings = n.techniques & Technique.LET_RING and not n.techniques & Technique.PALM_MUTE
        later = [m.start for m in notes if m.string == n.string and m.start > n.start]
        builder.add(
            onset_quarters=n.start,
            duration_quarters=n.end - n.start,
            ring_end_quarters=min([end_of_all if rings else n.end, *later]),
            string=n.string,
            fret=n.fret,
            pitch=EIGHT[-n.string] + n.fret,
            techniques=n.techniques,
        )
    return builder.build()


@settings(deadline=None, max_examples=120)
@given(musics())
def test_what_was_composed_is_what_is_read(music: Music) -> None:
    passage = passage_in(written(music))
    assert passage.notes == expected_table(music)
    assert [bar.length_quarters for bar in passage.bars] == bar_lengths(music)
    assert passage.tuning.open_pitches == EIGHT
