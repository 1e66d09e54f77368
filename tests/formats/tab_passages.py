"""Random passages that a tab can say, for property tests."""

from collections.abc import Sequence
from fractions import Fraction
from itertools import pairwise

from hypothesis import strategies as st

from riffract.formats.tab.harmonics import HARMONIC_SEMITONES
from riffract.music import (
    Bar,
    Metre,
    NoteTableBuilder,
    Passage,
    Section,
    Span,
    Technique,
    TempoMark,
    Tuning,
    bars_in_row,
)

LABELS = st.text("abc XYZ-:#19=>", min_size=1, max_size=12).map(lambda t: " ".join(t.split()))
STEPS = [Fraction(1, n) for n in (1, 2, 3, 4, 5, 7, 8, 12)]


@st.composite
def tunings(draw: st.DrawFn) -> Tuning:
    frets = draw(st.integers(12, 36))
    return Tuning(
        open_pitches=tuple(draw(st.lists(st.integers(16, 64), min_size=4, max_size=12))),
        capo=draw(st.sampled_from([0, 0, 0, 1, 5])),
        frets=frets,
        scale_length_mm=draw(st.sampled_from([648.0, 686.0, 647.7, 1000 / 3])),
    )


@st.composite
def metres(draw: st.DrawFn) -> Metre:
    unit = draw(st.sampled_from([2, 4, 8, 16]))
    groups = draw(st.lists(st.integers(1, 4), min_size=1, max_size=4))
    return Metre(groups=tuple(groups), unit=unit)


@st.composite
def bars(draw: st.DrawFn) -> tuple[Bar, ...]:
    chosen = draw(st.lists(metres(), min_size=1, max_size=3))
    row = [draw(st.sampled_from(chosen)) for _ in range(draw(st.integers(1, 5)))]
    shares = [Fraction(1, 2), Fraction(1, 3), Fraction(5, 4)]
    own = [draw(st.sampled_from([None] * 9 + shares)) for _ in row]
    if draw(st.booleans()):
        own[0] = draw(st.sampled_from(shares))
    return bars_in_row(
        (metre, share and share * metre.length_quarters, number)
        for number, (metre, share) in enumerate(zip(row, own, strict=True), 1)
    )


@st.composite
def moments(draw: st.DrawFn, the_bars: Sequence[Bar], max_size: int = 6) -> list[Fraction]:
    """Rising moments, most of them on a simple grid of their bar."""
    found: set[Fraction] = set()
    for bar in the_bars:
        step = draw(st.sampled_from(STEPS))
        count = int(bar.length_quarters / step)
        places = draw(st.lists(st.integers(0, max(count - 1, 0)), max_size=max_size))
        found |= {bar.start_quarters + place * step for place in places}
    return sorted(t for t in found if t < the_bars[-1].span.end_quarters)


@st.composite
def techniques(draw: st.DrawFn, before_fret: int | None, fret: int) -> Technique:
    flags = Technique(0)
    for flag in (
        Technique.PALM_MUTE,
        Technique.SLIDE,
        Technique.BEND,
        Technique.VIBRATO,
        Technique.ACCENT,
        Technique.STACCATO,
        Technique.LET_RING,
    ):
        if draw(st.integers(0, 3)) == 0:
            flags |= flag
    legato = draw(st.sampled_from([None, None, "h", "p"]))
    if legato == "h" and (before_fret is None or fret > before_fret):
        flags |= Technique.HAMMER_ON
    if legato == "p" and (before_fret is None or fret < before_fret):
        flags |= Technique.PULL_OFF
    if Technique.PALM_MUTE in flags:
        flags &= ~Technique.LET_RING
    return flags


@st.composite
def passages(draw: st.DrawFn) -> Passage:
    tuning = draw(tunings())
    the_bars = draw(bars())
    end = the_bars[-1].span.end_quarters
    builder = NoteTableBuilder()
    shared = draw(moments(the_bars))
    for string in range(1, tuning.string_count + 1):
        if draw(st.integers(0, 2)) == 0:
            continue
        own = draw(moments(the_bars)) if draw(st.booleans()) else shared
        before: int | None = None
        for onset, limit in pairwise([*own, end]):
            if draw(st.integers(0, 3)) == 0:
                continue
            room = limit - onset
            duration = room * draw(st.sampled_from([Fraction(1), Fraction(1), Fraction(1, 2)]))
            fret = draw(st.integers(0, tuning.frets - tuning.capo))
            flags = draw(techniques(before, fret))
            pitch: int | None = tuning.pitch_at(string, fret)
            bend: tuple[int, ...] = ()
            kind = draw(st.sampled_from(["plain"] * 4 + ["dead", "harmonic"]))
            if kind == "dead":
                flags = (flags | Technique.DEAD) & ~(Technique.BEND | Technique.LET_RING)
                pitch = None
            if kind == "harmonic":
                fret = draw(st.sampled_from(sorted(HARMONIC_SEMITONES)))
                flags = (flags | Technique.NATURAL_HARMONIC) & ~(
                    Technique.HAMMER_ON | Technique.PULL_OFF
                )
                pitch = tuning.open_pitch(string) + HARMONIC_SEMITONES[fret]
            if Technique.BEND in flags:
                bend = (0, draw(st.sampled_from([200, 100, 300, 50, -100, 0, 1200])))
            ring_end = onset + duration
            if Technique.LET_RING in flags:
                ring_end += (limit - ring_end) * draw(
                    st.sampled_from([Fraction(0), Fraction(1), Fraction(1), Fraction(1, 2)])
                )
            builder.add(
                onset_quarters=onset,
                duration_quarters=duration,
                string=string,
                fret=fret,
                pitch=pitch,
                ring_end_quarters=ring_end,
                techniques=flags,
                bend=bend,
            )
            before = None if kind == "dead" else fret
    return Passage(
        title=draw(st.one_of(st.just(""), LABELS)),
        tuning=tuning,
        bars=the_bars,
        tempos=draw(tempos(the_bars)),
        sections=draw(sections(the_bars)),
        notes=builder.build(),
        source="here",
    )


@st.composite
def tempos(draw: st.DrawFn, the_bars: Sequence[Bar]) -> tuple[TempoMark, ...]:
    at = sorted({Fraction(0), *draw(moments(the_bars, max_size=1))})
    speeds = st.one_of(st.integers(5, 1000).map(float), st.floats(5, 1000))
    return tuple(TempoMark(at_quarters=t, quarters_per_minute=draw(speeds)) for t in at)


@st.composite
def sections(draw: st.DrawFn, the_bars: Sequence[Bar]) -> tuple[Section, ...]:
    at = draw(moments(the_bars, max_size=1))
    found: list[Section] = []
    for start, end in pairwise([*at, the_bars[-1].span.end_quarters]):
        label = draw(LABELS)
        if label and label != "-" and draw(st.booleans()):
            found.append(Section(label=label, span=Span(start, end)))
    return tuple(found)
