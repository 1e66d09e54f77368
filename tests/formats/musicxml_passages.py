"""Random passages with everything that the model can say, for property tests of the writer."""

from collections.abc import Sequence
from fractions import Fraction
from itertools import pairwise

from hypothesis import strategies as st
from tests.formats.tab_passages import metres, tunings

from riffract.music import (
    Bar,
    Grace,
    NoteTable,
    NoteTableBuilder,
    Passage,
    Proposed,
    Section,
    Span,
    Technique,
    TempoMark,
    Tuning,
)

LABELS = st.text("abc XYZ-:#1<&>\"'é", min_size=1, max_size=12).map(lambda t: " ".join(t.split()))
STEPS = [Fraction(1, n) for n in (1, 2, 2, 3, 4, 4, 5, 6, 7, 8, 9, 12)]
PARTIALS = {12: 12, 7: 19, 5: 24, 4: 28, 3: 31}
"""Frets of natural harmonics and how far they sound above the open string (common practice)."""

SINGLE = (
    Technique.PALM_MUTE,
    Technique.LET_RING,
    Technique.SLIDE,
    Technique.VIBRATO,
    Technique.ACCENT,
    Technique.STACCATO,
    Technique.TAP,
    Technique.DOWN_STROKE,
    Technique.UP_STROKE,
    Technique.SCOOP,
    Technique.PLOP,
    Technique.DOIT,
    Technique.FALLOFF,
)
BENDS = (
    (0, 200),
    (0, 50),
    (200,),
    (0, 200, 0),
    (200, 0),
    (0, -100),
    (0, -100, 0),
    (-100, 0),
    (200, -100),
    (0, 200, 100, 300),
    (150, 250, 0),
    (0, 200, 0, 200),
)


@st.composite
def bars(draw: st.DrawFn, most: int = 4) -> tuple[Bar, ...]:
    chosen = draw(st.lists(metres(), min_size=1, max_size=2))
    shares = [Fraction(1, 2), Fraction(1, 3), Fraction(5, 4)]
    found: list[Bar] = []
    start = Fraction(0)
    for number in range(1, draw(st.integers(1, most)) + 1):
        metre = draw(st.sampled_from(chosen))
        is_free = draw(st.integers(0, 7)) == 0
        share = draw(st.sampled_from([Fraction(1)] * (3 if number == 1 or is_free else 8) + shares))
        length = share * metre.length_quarters
        found.append(
            Bar(
                number=number,
                written_number=number,
                start_quarters=start,
                length_quarters=length,
                metre=metre,
                is_free=is_free,
            )
        )
        start += length
    return tuple(found)


@st.composite
def moments(draw: st.DrawFn, the_bars: Sequence[Bar], max_size: int = 5) -> list[Fraction]:
    """Rising moments, most of them on a simple grid of their bar."""
    found: set[Fraction] = set()
    for bar in the_bars:
        step = draw(st.sampled_from(STEPS))
        count = int(bar.length_quarters / step)
        places = draw(st.lists(st.integers(0, max(count - 1, 0)), max_size=max_size))
        found |= {bar.start_quarters + place * step for place in places}
    return sorted(t for t in found if t < the_bars[-1].span.end_quarters)


@st.composite
def notes_on(
    draw: st.DrawFn, tuning: Tuning, the_bars: Sequence[Bar], builder: NoteTableBuilder, string: int
) -> None:
    end = the_bars[-1].span.end_quarters
    onsets = draw(moments(the_bars))
    is_led_to = False
    for onset, limit in pairwise([*onsets, end]):
        room = limit - onset
        duration = room * draw(st.sampled_from([Fraction(1), Fraction(1), Fraction(1, 2)]))
        fret = draw(st.integers(0, tuning.frets - tuning.capo))
        flags = Technique(0)
        for flag in draw(st.lists(st.sampled_from(SINGLE), max_size=3)):
            flags |= flag
        flags |= draw(st.sampled_from([0, 0, 0, Technique.HAMMER_ON, Technique.PULL_OFF]))
        pitch: int | None = tuning.pitch_at(string, fret)
        bend: tuple[int, ...] = ()
        other: int | None = None
        marks = 0
        match draw(
            st.sampled_from(
                ["plain"] * 6
                + ["dead", "natural", "artificial", "pinch", "bend", "bend", "trill", "tremolo"]
            )
        ):
            case "dead":
                flags, pitch = flags | Technique.DEAD, None
            case "natural":
                fret = draw(st.sampled_from(sorted(PARTIALS)))
                flags |= Technique.NATURAL_HARMONIC
                pitch = tuning.open_pitch(string) + PARTIALS[fret]
            case "artificial":
                fret = draw(st.integers(0, 12))
                node = draw(st.sampled_from([12, 7, 5]))
                flags |= Technique.ARTIFICIAL_HARMONIC
                other = fret + node
                pitch = tuning.pitch_at(string, fret) + PARTIALS[node]
            case "pinch":
                flags |= Technique.PINCH_HARMONIC
                pitch = min(tuning.pitch_at(string, fret) + draw(st.sampled_from([0, 12, 19])), 127)
            case "bend":
                bend = draw(st.sampled_from(BENDS))
            case "trill":
                flags |= Technique.TRILL
                other = max(fret + draw(st.sampled_from([1, 2, 3, -2])), 0)
            case "tremolo":
                marks = draw(st.integers(5, 8))
            case _:
                pass
        if not is_led_to:
            flags &= ~Technique.SLIDE
        is_led_to = True
        ring_end = onset + duration
        if Technique.LET_RING in flags and not flags & (Technique.PALM_MUTE | Technique.DEAD):
            share = draw(st.sampled_from([Fraction(0), Fraction(1), Fraction(1), Fraction(1, 2)]))
            ring_end += (limit - ring_end) * share
        elif draw(st.integers(0, 9)) == 0:
            ring_end = onset + room * draw(st.sampled_from([Fraction(1), Fraction(1, 3)]))
        builder.add(
            onset_quarters=onset,
            duration_quarters=duration,
            string=string,
            fret=fret,
            pitch=pitch,
            ring_end_quarters=ring_end,
            techniques=flags,
            bend=bend,
            other_fret=other,
            tremolo_marks=marks,
        )


@st.composite
def graces(draw: st.DrawFn, tuning: Tuning, notes: NoteTable) -> tuple[Grace, ...]:
    found: list[Grace] = []
    onsets = sorted({note.onset_quarters for note in notes})
    for onset in onsets:
        if draw(st.integers(0, 5)):
            continue
        for place in range(draw(st.integers(1, 3))):
            is_slashed = draw(st.booleans())
            for string in sorted(
                draw(st.sets(st.integers(1, tuning.string_count), min_size=1, max_size=2)),
                reverse=True,
            ):
                fret = draw(st.integers(0, tuning.frets - tuning.capo))
                flags = draw(
                    st.sampled_from(
                        [Technique(0), Technique.ACCENT, Technique.PALM_MUTE, Technique.DEAD]
                    )
                )
                bend = draw(st.sampled_from([(), (), (0, 100)]))
                is_dead = Technique.DEAD in flags
                found.append(
                    Grace(
                        at_quarters=onset,
                        place=place,
                        string=string,
                        fret=fret,
                        pitch=None if is_dead else tuning.pitch_at(string, fret),
                        techniques=flags | (Technique.BEND if bend else Technique(0)),
                        bend=bend,
                        value_quarters=draw(st.sampled_from([Fraction(1, 2), Fraction(1, 4)])),
                        is_slashed=is_slashed,
                    )
                )
    return tuple(found)


@st.composite
def tempos(draw: st.DrawFn, the_bars: Sequence[Bar]) -> tuple[TempoMark, ...]:
    at = sorted({Fraction(0), *draw(moments(the_bars, max_size=1))})
    speeds = st.one_of(st.integers(5, 1000).map(float), st.floats(5, 1000))
    drawn = [draw(speeds) for _ in at]
    return tuple(
        TempoMark(at_quarters=t, quarters_per_minute=speed, is_ramp=draw(st.booleans()))
        for (t, speed), before in zip(zip(at, drawn, strict=True), [None, *drawn], strict=False)
        if speed != before
    )


@st.composite
def sections(draw: st.DrawFn, the_bars: Sequence[Bar]) -> tuple[Section, ...]:
    at = draw(moments(the_bars, max_size=1))
    found: list[Section] = []
    for start, end in pairwise([*at, the_bars[-1].span.end_quarters]):
        label = draw(LABELS)
        share = draw(st.sampled_from([Fraction(1), Fraction(1), Fraction(1, 2)]))
        if label and draw(st.booleans()):
            found.append(Section(label=label, span=Span(start, start + share * (end - start))))
    return tuple(found)


@st.composite
def fermatas(draw: st.DrawFn, the_bars: Sequence[Bar]) -> tuple[Fraction, ...]:
    at = draw(moments(the_bars, max_size=1))
    over_the_end = [the_bars[-1].span.end_quarters] if draw(st.integers(0, 5)) == 0 else []
    return (*at, *over_the_end)


@st.composite
def passages(draw: st.DrawFn, most_bars: int = 4) -> Passage:
    tuning = draw(tunings(fewest_frets=20))
    the_bars = draw(bars(most_bars))
    builder = NoteTableBuilder()
    for string in draw(st.sets(st.integers(1, tuning.string_count), max_size=4)):
        draw(notes_on(tuning, the_bars, builder, string))
    notes = builder.build()
    return Passage(
        title=draw(st.one_of(st.just(""), LABELS)),
        tuning=tuning,
        bars=the_bars,
        tempos=draw(tempos(the_bars)),
        sections=draw(sections(the_bars)),
        notes=notes,
        graces=draw(graces(tuning, notes)),
        fermatas=draw(fermatas(the_bars)),
        source="here",
        proposed=tuple(sorted(draw(st.sets(st.sampled_from(list(Proposed)), max_size=2)))),
    )
