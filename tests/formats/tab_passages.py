"""Random passages that a tab can say, for property tests."""

from bisect import bisect_right
from collections.abc import Sequence
from dataclasses import dataclass, field, replace
from fractions import Fraction
from itertools import pairwise
from typing import Any

from hypothesis import strategies as st

from riffract.formats.tab.harmonics import HARMONIC_SEMITONES
from riffract.music import (
    Bar,
    Grace,
    Metre,
    NoteTableBuilder,
    Passage,
    Proposed,
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
def tunings(draw: st.DrawFn, *, fewest_frets: int = 12) -> Tuning:
    frets = draw(st.integers(fewest_frets, 36))
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
    laid = bars_in_row(
        (metre, share and share * metre.length_quarters, number)
        for number, (metre, share) in enumerate(zip(row, own, strict=True), 1)
    )
    return tuple(replace(bar, is_free=draw(st.integers(0, 9)) == 0) for bar in laid)


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


SIGNS = (
    Technique.PALM_MUTE,
    Technique.SLIDE,
    Technique.BEND,
    Technique.VIBRATO,
    Technique.ACCENT,
    Technique.STACCATO,
    Technique.LET_RING,
    Technique.TAP,
    Technique.TREMOLO,
    Technique.TRILL,
    Technique.DOWN_STROKE,
    Technique.UP_STROKE,
    Technique.SCOOP,
    Technique.PLOP,
    Technique.DOIT,
    Technique.FALLOFF,
)
BENDS = st.one_of(
    st.sampled_from([(0, 200), (0, 200, 0), (200,), (200, 0), (0, 50), (0, 100, 0, 150, -20)]),
    st.lists(st.integers(-2400, 2400), min_size=1, max_size=12).map(tuple),
)
VALUES = st.sampled_from([Fraction(1, 2)] * 3 + [Fraction(1, 4), Fraction(3), Fraction(7, 20)])


@st.composite
def techniques(draw: st.DrawFn, before_fret: int | None, fret: int, *, is_led: bool) -> Technique:
    flags = Technique(0)
    for flag in SIGNS:
        if draw(st.integers(0, 5)) == 0:
            flags |= flag
    legato = draw(st.sampled_from([None, None, "h", "p"])) if is_led else None
    if legato == "h" and (before_fret is None or fret > before_fret):
        flags |= Technique.HAMMER_ON
    if legato == "p" and (before_fret is None or fret < before_fret):
        flags |= Technique.PULL_OFF
    if Technique.PALM_MUTE in flags:
        flags &= ~Technique.LET_RING
    if Technique.DOWN_STROKE in flags:
        flags &= ~Technique.UP_STROKE
    return flags


@st.composite
def sounds(
    draw: st.DrawFn, tuning: Tuning, string: int, *, before: int | None, is_led: bool
) -> dict[str, Any]:
    """All that a note is but its time: fret, pitch, techniques and what belongs to them."""
    neck = st.integers(0, tuning.frets - tuning.capo)
    fret = draw(neck)
    flags = draw(techniques(before, fret, is_led=is_led))
    pitch: int | None = tuning.pitch_at(string, fret)
    other_fret = None
    kinds = ["plain"] * 6 + ["dead", "natural", "artificial", "pinch"]
    kind = draw(st.sampled_from(kinds))
    if kind == "dead":
        flags = (flags | Technique.DEAD) & ~(Technique.BEND | Technique.LET_RING)
        pitch = None
    elif kind == "natural":
        fret = draw(st.sampled_from(sorted(HARMONIC_SEMITONES)))
        flags = (flags | Technique.NATURAL_HARMONIC) & ~(Technique.HAMMER_ON | Technique.PULL_OFF)
        pitch = tuning.open_pitch(string) + HARMONIC_SEMITONES[fret]
    elif kind != "plain":
        artificial = kind == "artificial"
        flags |= Technique.ARTIFICIAL_HARMONIC if artificial else Technique.PINCH_HARMONIC
        touched = draw(st.sampled_from([None, 12, 7, 5, 6]))
        if touched is not None and Technique.TRILL not in flags:
            other_fret = fret + touched
        interval = HARMONIC_SEMITONES.get(touched or 0, 0)
        pitch = min(tuning.pitch_at(string, fret) + draw(st.sampled_from([interval, 31])), 127)
    if Technique.TRILL in flags:
        other_fret = draw(st.one_of(st.none(), neck.filter(lambda other: other != fret)))
    return {
        "string": string,
        "fret": fret,
        "pitch": pitch,
        "techniques": flags,
        "bend": draw(BENDS) if Technique.BEND in flags else (),
        "other_fret": other_fret,
        "tremolo_marks": draw(st.integers(0, 4)) if Technique.TREMOLO in flags else 0,
    }


@st.composite
def graces(draw: st.DrawFn, tuning: Tuning, string: int, at: Fraction) -> list[Grace]:
    found: list[Grace] = []
    for place in range(draw(st.sampled_from([0, 0, 0, 0, 1, 2]))):
        sound = draw(sounds(tuning, string, before=None, is_led=False))
        del sound["other_fret"], sound["tremolo_marks"]
        grace = Grace(
            at_quarters=at,
            place=place,
            value_quarters=draw(VALUES),
            is_slashed=draw(st.booleans()),
            **sound,
        )
        found.append(grace)
    return found


@dataclass(slots=True)
class Music:
    """Notes, as the builder takes them, graces and fermatas."""

    notes: list[dict[str, Any]] = field(default_factory=list)
    graces: list[Grace] = field(default_factory=list)
    fermatas: list[Fraction] = field(default_factory=list)

    def played(self, bar: Bar, start: Fraction) -> "Music":
        """What begins in a bar, if it starts at another time."""
        shift = start - bar.start_quarters
        return Music(
            [
                note
                | {
                    "onset_quarters": note["onset_quarters"] + shift,
                    "ring_end_quarters": note["ring_end_quarters"] + shift,
                }
                for note in self.notes
                if bar.span.holds(note["onset_quarters"])
            ],
            [
                replace(grace, at_quarters=grace.at_quarters + shift)
                for grace in self.graces
                if bar.span.holds(grace.at_quarters)
            ],
            [at + shift for at in self.fermatas if bar.span.holds(at)],
        )


@st.composite
def music(draw: st.DrawFn, tuning: Tuning, the_bars: Sequence[Bar], *, is_in_bars: bool) -> Music:
    """Fill bars; without ties and leads over bar lines if they are to be played again."""
    found = Music(fermatas=draw(moments(the_bars, max_size=1)))
    end = the_bars[-1].span.end_quarters
    shared = draw(moments(the_bars))
    starts = {bar.start_quarters for bar in the_bars}
    for string in range(1, tuning.string_count + 1):
        if draw(st.integers(0, 2)) == 0:
            continue
        own = draw(moments(the_bars)) if draw(st.booleans()) else shared
        stops = sorted(starts) if is_in_bars else []
        before: int | None = None
        bar_before: int | None = None
        for onset, following in pairwise([*own, end]):
            bar = bisect_right(stops, onset)
            limit = min([following, *stops[bar : bar + 1]])
            if draw(st.integers(0, 3)) == 0:
                continue
            leading = draw(graces(tuning, string, onset))
            found.graces += leading
            if leading:
                before = None if leading[-1].pitch is None else leading[-1].fret
            is_led = not is_in_bars or bar == bar_before or bool(leading)
            note = draw(sounds(tuning, string, before=before, is_led=is_led))
            room = limit - onset
            duration = room * draw(st.sampled_from([Fraction(1), Fraction(1), Fraction(1, 2)]))
            ring_end = onset + duration
            if Technique.LET_RING in note["techniques"]:
                ring_end += (limit - ring_end) * draw(
                    st.sampled_from([Fraction(0), Fraction(1), Fraction(1), Fraction(1, 2)])
                )
            note |= {
                "onset_quarters": onset,
                "duration_quarters": duration,
                "ring_end_quarters": ring_end,
            }
            found.notes.append(note)
            before = None if note["pitch"] is None else note["fret"]
            bar_before = bar
    return found


@st.composite
def passages(draw: st.DrawFn, *, repeats: bool | None = None) -> Passage:
    tuning = draw(tunings())
    the_bars = draw(bars())
    has_repeats = draw(st.booleans()) if repeats is None else repeats
    found = draw(music(tuning, the_bars, is_in_bars=has_repeats))
    if has_repeats:
        the_bars, found = draw(played_again(the_bars, found))
    end = the_bars[-1].span.end_quarters
    if draw(st.booleans()):
        found.fermatas.append(end)
    builder = NoteTableBuilder()
    for note in found.notes:
        builder.add(**note)
    return Passage(
        title=draw(st.one_of(st.just(""), LABELS)),
        tuning=tuning,
        bars=the_bars,
        tempos=draw(tempos(the_bars)),
        sections=draw(sections(the_bars)),
        notes=builder.build(),
        graces=tuple(sorted(found.graces, key=lambda g: (g.at_quarters, g.place, -g.string))),
        fermatas=tuple(found.fermatas),
        source="here",
        proposed=draw(st.sampled_from([(), (), (Proposed.TIME,), tuple(Proposed)])),
    )


@st.composite
def played_again(
    draw: st.DrawFn, written: Sequence[Bar], found: Music
) -> tuple[tuple[Bar, ...], Music]:
    """Play written bars in an order of repeats and endings, or in one that signs cannot say."""
    count = len(written)
    order = list(range(count))
    start = draw(st.integers(0, count - 1))
    stop = draw(st.integers(start + 1, count))
    head = draw(st.integers(start + 1, stop))
    match draw(st.sampled_from(["plain", "endings", "any"])):
        case "plain":
            times = draw(st.integers(2, 4))
            order = [*range(stop), *[*range(start, stop)] * (times - 1), *range(stop, count)]
        case "endings":
            ends = [i + 1 for i in range(head, stop)]
            passes = [[*range(start, head), i] for i in range(head, stop)]
            again = draw(st.sampled_from([1, 1, 2]))
            order = [*range(start), *(i for one in passes[:1] for i in one * again)]
            order += [i for one in passes[1:] for i in one]
            order += range(ends[-1] if ends else start, count)
        case _:
            order = draw(st.lists(st.integers(0, count - 1), min_size=1, max_size=6))
    played: list[Bar] = []
    whole = Music()
    now = Fraction(0)
    for index in order:
        bar = written[index]
        part = found.played(bar, now)
        whole.notes += part.notes
        whole.graces += part.graces
        whole.fermatas += part.fermatas
        played.append(
            replace(bar, number=len(played) + 1, written_number=index + 1, start_quarters=now)
        )
        now += bar.length_quarters
    return tuple(played), whole


@st.composite
def tempos(draw: st.DrawFn, the_bars: Sequence[Bar]) -> tuple[TempoMark, ...]:
    at = sorted({Fraction(0), *draw(moments(the_bars, max_size=1))})
    speeds = st.one_of(st.integers(5, 1000).map(float), st.floats(5, 1000))
    return tuple(
        TempoMark(
            at_quarters=t,
            quarters_per_minute=draw(speeds),
            is_ramp=draw(st.sampled_from([False, False, True])),
        )
        for t in at
    )


@st.composite
def sections(draw: st.DrawFn, the_bars: Sequence[Bar]) -> tuple[Section, ...]:
    at = draw(moments(the_bars, max_size=1))
    found: list[Section] = []
    for start, end in pairwise([*at, the_bars[-1].span.end_quarters]):
        label = draw(LABELS)
        if label and label != "-" and draw(st.booleans()):
            found.append(Section(label=label, span=Span(start, end)))
    return tuple(found)
