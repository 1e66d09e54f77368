"""Three studies for tests of the picture, composed for that, with findings set by hand.

`odd`: eight strings in changing odd metres, a tag, three passes that differ, a ringing string.
`plain`: six strings in 4/4, no repeats, nothing found but its shape.
`wide`: forty bars on twelve strings, nothing found at all.
"""

from collections.abc import Iterable, Sequence
from dataclasses import dataclass, replace
from fractions import Fraction
from typing import Any

from riffract.analysis.attacks import Attack, attacks_of
from riffract.analysis.finding import (
    Anchor,
    Collection,
    CollectionChange,
    Colour,
    Drone,
    Edit,
    Finding,
    Gesture,
    Kind,
    Limb,
    Mirror,
    MirrorOf,
    MirrorPair,
    OtherMaterial,
    Pass,
    Passes,
    Reading,
    Sonority,
    What,
)
from riffract.analysis.interval_name import colour_name
from riffract.essay.shots import Line, Play, SceneName, Shot
from riffract.music import (
    Metre,
    NoteTableBuilder,
    Passage,
    Span,
    Technique,
    TempoMark,
    TimeMap,
    Tuning,
    bars_in_row,
)
from riffract.music.notes import Grace
from riffract.weighing.study import Study, Verdict, WeighedFinding
from riffract.weighing.weigh import study_passage

STEP = Fraction(1, 4)
EIGHT = Tuning(open_pitches=(28, 35, 40, 45, 50, 55, 59, 64), frets=24)
SIX = Tuning(open_pitches=(38, 45, 50, 55, 59, 64))
TWELVE = Tuning(open_pitches=(26, 31, 36, 40, 45, 50, 55, 59, 64, 68, 71, 76), frets=24)
PM, RING = Technique.PALM_MUTE, Technique.LET_RING
PULL, SLIDE, PLAIN = Technique.PULL_OFF, Technique.SLIDE, Technique(0)


@dataclass(frozen=True, slots=True)
class Struck:
    """A note in sixteenth steps."""

    at: int
    string: int
    fret: int
    steps: int
    techniques: Technique = PLAIN
    ring_steps: int = 0


FALL = (
    Struck(0, 8, 0, 2),
    Struck(0, 4, 0, 6, RING, 6),
    Struck(0, 2, 5, 2),
    Struck(2, 2, 2, 2),
    Struck(4, 3, 5, 1),
    Struck(5, 3, 3, 1, PULL),
    Struck(6, 4, 0, 6, RING, 6),
    Struck(6, 3, 2, 3),
    Struck(9, 5, 10, 2),
    Struck(11, 5, 9, 1, SLIDE),
    Struck(12, 4, 0, 6, RING, 10),
    Struck(12, 6, 11, 2),
    Struck(14, 6, 9, 2),
    Struck(16, 7, 13, 1),
    Struck(17, 7, 11, 1),
    Struck(18, 8, 0, 1, PM),
    Struck(19, 7, 10, 2),
    Struck(21, 8, 0, 1, PM),
    Struck(22, 7, 8, 2),
    Struck(24, 8, 0, 1, PM),
    Struck(25, 8, 0, 1, PM),
)
CLIMB = ((7, 5), (6, 1), (6, 3), (6, 4), (5, 1), (5, 2))
FALL_STEPS, CLIMB_STEPS = 26, 6


def _climb(at: int) -> tuple[Struck, ...]:
    return tuple(Struck(at + i, string, fret, 1) for i, (string, fret) in enumerate(CLIMB))


def _moved(notes: Iterable[Struck], by: int) -> tuple[Struck, ...]:
    return tuple(
        Struck(n.at + by, n.string, n.fret, n.steps, n.techniques, n.ring_steps) for n in notes
    )


def _odd_notes() -> tuple[Struck, ...]:
    tag = _climb(0)
    first = (*_moved(FALL, 6), *_climb(6 + FALL_STEPS))
    more = (Struck(6 + 32 + 26, 8, 0, 1, PM), Struck(6 + 32 + 27, 8, 0, 1, PM))
    second = (*_moved(FALL, 38), *more, *_climb(38 + FALL_STEPS + 2))
    changed = tuple(
        Struck(n.at, n.string, 11, n.steps, PLAIN) if (n.at, n.string) == (9, 5) else n
        for n in FALL[:-2]
    )
    last = (*_moved(changed, 72), Struck(72 + 24, 8, 0, 8, RING, 8))
    return (*tag, *first, *second, *last)


def make_passage(
    notes: Iterable[Struck],
    tuning: Tuning,
    metres: Sequence[Metre],
    title: str,
    quarters_per_minute: float,
) -> Passage:
    """Build a passage from notes in sixteenth steps."""
    builder = NoteTableBuilder()
    for n in notes:
        is_dead = bool(n.techniques & Technique.DEAD)
        builder.add(
            onset_quarters=n.at * STEP,
            duration_quarters=n.steps * STEP,
            string=n.string,
            fret=n.fret,
            pitch=None if is_dead else tuning.pitch_at(n.string, n.fret),
            ring_end_quarters=(n.at + n.ring_steps) * STEP if n.ring_steps else None,
            techniques=n.techniques,
            bend=(0, 200) if n.techniques & Technique.BEND else (),
        )
    return Passage(
        title=title,
        tuning=tuning,
        bars=bars_in_row((metre, None, i + 1) for i, metre in enumerate(metres)),
        tempos=(TempoMark(at_quarters=Fraction(0), quarters_per_minute=quarters_per_minute),),
        notes=builder.build(),
    )


def weighed(
    kind: Kind,
    what: What,
    spans: Iterable[Span],
    notes: Iterable[int] = (),
    verdict: Verdict = Verdict.FIRM,
) -> WeighedFinding:
    """Wrap an answer as the weighing would."""
    finding = Finding(
        kind=kind,
        spans=tuple(spans),
        notes=tuple(sorted(notes)),
        what=what,
        sentence="A sentence.",
        detail="A detail.",
    )
    return WeighedFinding(
        finding=finding, verdict=verdict, chance=None, q=None, log10_bayes=None, rivals=()
    )


def steps(start: int, end: int) -> Span:
    """Give a span in sixteenth steps."""
    return Span(start * STEP, end * STEP)


def odd_study() -> Study:
    """Give the study of the passage in odd metres."""
    nine, seven = Metre(groups=(2, 2, 2, 3), unit=8), Metre(groups=(2, 2, 3), unit=8)
    three, eight = Metre(groups=(3,), unit=8), Metre(groups=(2, 3, 3), unit=8)
    metres = (three, nine, seven, nine, eight, nine, seven)
    passage = make_passage(_odd_notes(), EIGHT, metres, "Étude in changing light", 104.0)
    attacks = attacks_of(passage)
    findings = (
        _odd_passes(attacks),
        _odd_gesture(passage),
        _odd_drone(passage),
        *_odd_collections(),
        _odd_sonority(),
        _odd_mirror(passage),
        _anchor(passage),
    )
    return Study(passage=passage, findings=findings, ignored=(), seed=1)


def _at(attacks: Sequence[Attack], step: int) -> Attack:
    return next(a for a in attacks if a.onset_quarters == step * STEP)


def _odd_passes(attacks: Sequence[Attack]) -> WeighedFinding:
    template = [a for a in attacks if 6 <= a.onset_quarters / STEP < 38]

    def pairs(shift: int, late: int, skip: int, until: int) -> tuple[tuple[int, int], ...]:
        found = []
        for attack in template:
            step = int(attack.onset_quarters / STEP) - 6
            if step < until:
                there = shift + step + (late if step >= skip else 0)
                found.append((attack.index, _at(attacks, there).index))
        return tuple(found)

    inserted = [_at(attacks, 64), _at(attacks, 65)]
    climb_start = _at(attacks, 6 + FALL_STEPS)
    inserts = tuple(
        Edit(
            op="insert",
            at_quarters=a.onset_quarters,
            expected=None,
            found=a.content,
            notes=a.notes,
            template_attack=climb_start.index,
        )
        for a in inserted
    )
    old, new = _at(attacks, 15), _at(attacks, 81)
    substitute = Edit(
        op="substitute",
        at_quarters=new.onset_quarters,
        expected=old.content,
        found=new.content,
        notes=new.notes,
        template_attack=old.index,
    )
    held_old, held = _at(attacks, 6 + 24), _at(attacks, 72 + 24)
    shift = Edit(
        op="shift",
        at_quarters=held.onset_quarters,
        expected=held_old.content,
        found=held.content,
        notes=held.notes,
        template_attack=held_old.index,
    )
    reading = Reading(
        template=steps(6, 38),
        passes=(
            Pass(
                span=steps(6, 38),
                edits=(),
                truncated="none",
                pairs=tuple((a.index, a.index) for a in template),
            ),
            Pass(
                span=steps(38, 72),
                edits=inserts,
                truncated="none",
                pairs=pairs(38, 2, FALL_STEPS, 32),
            ),
            Pass(
                span=steps(72, 104),
                edits=(substitute, shift),
                truncated="right",
                pairs=pairs(72, 0, 99, 25),
            ),
        ),
        other=(OtherMaterial(span=steps(0, 6), role="tag"),),
        bits=321.0,
    )
    passes = Passes(readings=(reading,))
    return weighed(Kind.PASSES, passes, [steps(6, 38), steps(38, 72), steps(72, 104)])


def _lead_of(passage: Passage, span: Span, without: Iterable[int] = (8, 4)) -> tuple[int, ...]:
    return tuple(
        n.index
        for n in passage.notes
        if span.holds(n.onset_quarters) and not (n.fret == 0 and n.string in set(without))
    )


def _limb(passage: Passage, span: Span) -> Limb:
    notes = _lead_of(passage, span)
    first, last = (int(passage.notes.pitch[i]) for i in (notes[0], notes[-1]))
    return Limb(
        span=span,
        direction="falling" if last < first else "rising",
        semitones=last - first,
        slope=(last - first) / float(span.length_quarters),
        notes=notes,
    )


def _odd_gesture(passage: Passage) -> WeighedFinding:
    spans = [(0, 6), (6, 30), (32, 38), (38, 62), (66, 72), (72, 96)]
    limbs = tuple(_limb(passage, steps(*span)) for span in spans)
    gesture = Gesture(limbs=limbs, ratio=24 / 6, contour=(0, 1, 0, 1, 0, 1, 0))
    notes = [note for limb in limbs for note in limb.notes]
    return weighed(Kind.GESTURE, gesture, [passage.span], notes)


def _odd_drone(passage: Passage) -> WeighedFinding:
    ringing = [n for n in passage.notes if n.string == 4 and n.fret == 0]
    colours = []
    for index in _lead_of(passage, passage.span):
        note = passage.notes[index]
        held = [r for r in ringing if r.onset_quarters <= note.onset_quarters < r.ring_end_quarters]
        if held and note.pitch is not None:
            away = note.pitch - 50
            colours.append(
                Colour(
                    at_quarters=note.onset_quarters,
                    semitones=away,
                    name=colour_name(away),
                    note=index,
                )
            )
    drone = Drone(string=4, pitch=50, is_open=True, position="crossing", colours=tuple(colours))
    spans = [steps(6, 28), steps(38, 60), steps(72, 94)]
    return weighed(Kind.DRONE, drone, spans, [n.index for n in ringing])


def _odd_collections() -> tuple[WeighedFinding, ...]:
    falling = Collection(
        family="octatonic",
        form="OCT0,1",
        pcs=(0, 1, 3, 4, 6, 7, 9, 10),
        fragment=False,
        inside_share=1.0,
        foreign=(),
        missing=(),
        with_drone=False,
    )
    rising = Collection(
        family="octatonic",
        form="OCT1,2",
        pcs=(1, 2, 4, 5, 7, 8, 10, 11),
        fragment=True,
        inside_share=1.0,
        foreign=(),
        missing=(1, 2),
        with_drone=False,
    )
    change = CollectionChange(
        from_form="OCT0,1",
        to_form="OCT1,2",
        from_pcs=falling.pcs,
        to_pcs=rising.pcs,
        at_quarters=32 * STEP,
        common_pcs=(1, 4, 7, 10),
        transposition=1,
    )
    falls = [steps(6, 30), steps(38, 62), steps(72, 96)]
    climbs = [steps(0, 6), steps(32, 38), steps(66, 72)]
    return (
        weighed(Kind.COLLECTION, falling, falls),
        weighed(Kind.COLLECTION, rising, climbs, verdict=Verdict.LIKELY),
        weighed(Kind.COLLECTION_CHANGE, change, climbs),
    )


def _odd_sonority() -> WeighedFinding:
    places = [steps(12, 18), steps(44, 50), steps(78, 84)]
    sonority = Sonority(
        prime_form=(0, 1, 3),
        forte="3-2",
        how="in_succession",
        occurrences=tuple(places),
        occurrence_pcs=((9, 7, 6), (9, 7, 6), (9, 8, 6)),
        share=0.17,
        is_first_sound=False,
    )
    return weighed(Kind.SONORITY, sonority, places)


def _odd_mirror(passage: Passage) -> WeighedFinding:
    fall, climb = steps(6, 30), steps(32, 38)
    left = _lead_of(passage, fall)[::-1]
    right = _lead_of(passage, climb)
    pairs = []
    for step, note in enumerate(right):
        partner = left[2 * step]
        off = int(passage.notes.pitch[note] - passage.notes.pitch[partner])
        pairs.append(MirrorPair(left=partner, right=note, semitones_off=off))
    mirror = Mirror(
        of="gesture",
        voice="the moving voice",
        axis_quarters=31 * STEP,
        axis_pitch=None,
        core_quarters=Fraction(1, 4),
        reach_quarters=Fraction(6),
        left=fall,
        right=climb,
        limb_ratio=4.0,
        scale=4.0,
        deviations=(),
        pairs=tuple(pairs),
    )
    return weighed(Kind.MIRROR, mirror, [steps(6, 38)], [*left, *right])


def _anchor(passage: Passage) -> WeighedFinding:
    open_string = passage.tuning.lowest_pitch
    timeline = tuple(n.onset_quarters for n in passage.notes if n.pitch == open_string)
    return weighed(
        Kind.ANCHOR, Anchor(pitch=open_string, intervals={}, timeline=timeline), [passage.span]
    )


def plain_study() -> Study:
    """Give the study of a simple passage: four bars of eighths, all techniques, one limb."""
    line = [(6, 0), (5, 2), (4, 2), (3, 0), (2, 1), (1, 0), (2, 1), (3, 0)]
    signs = {
        5: Technique.HAMMER_ON,
        9: Technique.SLIDE,
        12: Technique.BEND,
        15: Technique.VIBRATO,
        18: Technique.DEAD,
        21: Technique.NATURAL_HARMONIC,
        24: Technique.ACCENT,
        27: Technique.PULL_OFF,
        1: Technique.TAP | Technique.DOWN_STROKE,
        2: Technique.TREMOLO | Technique.UP_STROKE,
        3: Technique.TRILL,
        6: Technique.ARTIFICIAL_HARMONIC,
        7: Technique.PINCH_HARMONIC,
        10: Technique.SCOOP,
        11: Technique.PLOP,
        13: Technique.DOIT,
        14: Technique.FALLOFF,
    }
    notes = [Struck(2 * i, *line[i % 8], 2, signs.get(i, PLAIN)) for i in range(28)]
    notes += [Struck(56, string, fret, 8) for string, fret in ((6, 0), (5, 2), (4, 2))]
    four = Metre(groups=(4,), unit=4)
    passage = make_passage(notes, SIX, [four] * 4, "Plain", 120.0)
    limbs = tuple(_limb(passage, steps(16 * i, 16 * i + 12)) for i in range(3))
    gesture = Gesture(limbs=limbs, ratio=None, contour=(0, 1, 0, 1, 0, 1))
    findings = (weighed(Kind.GESTURE, gesture, [passage.span], verdict=Verdict.LIKELY),)
    return Study(passage=passage, findings=findings, ignored=(), seed=1)


def signs_study() -> Study:
    """Give the study of six bars that hold every sign there is; nothing is found in them."""
    builder = NoteTableBuilder()
    t = Technique
    rows: list[tuple[str, str, int, int, Technique, dict[str, Any]]] = [
        ("0", "1", 3, 7, t.HAMMER_ON, {}),
        ("1", "1", 2, 8, PLAIN, {"bend": (0, 200, 0)}),
        ("2", "1", 2, 8, PLAIN, {"bend": (100,)}),
        ("3", "1", 3, 9, t.VIBRATO, {"bend": (0, 50)}),
        ("4", "2", 4, 5, t.TRILL, {"other_fret": 7}),
        ("6", "1", 6, 3, t.DOWN_STROKE, {"tremolo_marks": 3}),
        ("6", "1", 5, 5, t.DOWN_STROKE, {"tremolo_marks": 3}),
        ("7", "1/2", 5, 3, t.UP_STROKE, {"tremolo_marks": 1}),
        ("15/2", "1/2", 6, 5, t.UP_STROKE | t.ACCENT, {}),
        ("8", "1/2", 1, 12, t.TAP, {}),
        ("17/2", "1/2", 1, 8, t.PULL_OFF, {}),
        ("9", "1/2", 1, 5, t.PULL_OFF, {}),
        ("19/2", "1/2", 1, 12, t.TAP | t.VIBRATO, {}),
        ("10", "1", 3, 5, t.ARTIFICIAL_HARMONIC, {"other_fret": 17}),
        ("11", "1", 4, 3, t.PINCH_HARMONIC | t.VIBRATO, {}),
        ("12", "1", 4, 12, t.NATURAL_HARMONIC, {}),
        ("13", "1/2", 3, 7, t.SCOOP, {}),
        ("27/2", "1/2", 3, 9, t.PLOP, {}),
        ("14", "1", 3, 7, t.DOIT, {}),
        ("15", "1", 2, 10, t.FALLOFF, {}),
        ("16", "2", 2, 10, t.SLIDE, {"bend": (200, 0, 300), "tremolo_marks": 2}),
        ("18", "2", 6, 0, t.DEAD, {}),
        ("20", "1", 5, 3, PLAIN, {}),
        ("21", "3", 5, 5, PLAIN, {}),
    ]
    for at, length, string, fret, how, more in rows:
        builder.add(
            onset_quarters=Fraction(at),
            duration_quarters=Fraction(length),
            string=string,
            fret=fret,
            pitch=None if how & t.DEAD else SIX.pitch_at(string, fret),
            techniques=how,
            **more,
        )
    graces = [("0", 0, 3, 5), ("4", 0, 4, 2), ("4", 1, 4, 4), ("4", 0, 3, 4), ("16", 0, 2, 7)]
    four = Metre(groups=(4,), unit=4)
    bars = list(bars_in_row((four, None, number) for number in range(1, 7)))
    bars[5] = replace(bars[5], is_free=True)
    passage = Passage(
        title="All signs",
        tuning=SIX,
        bars=tuple(bars),
        tempos=(
            TempoMark(at_quarters=Fraction(0), quarters_per_minute=90.0),
            TempoMark(at_quarters=Fraction(8), quarters_per_minute=90.0, is_ramp=True),
            TempoMark(at_quarters=Fraction(16), quarters_per_minute=140.0),
        ),
        notes=builder.build(),
        graces=tuple(
            Grace(
                at_quarters=Fraction(at),
                place=place,
                string=string,
                fret=fret,
                pitch=SIX.pitch_at(string, fret),
                techniques=Technique.HAMMER_ON if place else PLAIN,
            )
            for at, place, string, fret in graces
        ),
        fermatas=(Fraction(14), Fraction(21)),
    )
    return Study(passage=passage, findings=(), ignored=(), seed=1)


def wide_study() -> Study:
    """Give the study of a long passage on all of twelve strings."""
    notes = []
    for bar in range(40):
        for i in range(16):
            string = 12 - (5 * i + 3 * bar) % 12
            notes.append(Struck(16 * bar + i, string, (7 * i + bar) % 13, 1))
    four = Metre(groups=(4,), unit=4)
    passage = make_passage(notes, TWELVE, [four] * 40, "Wide", 140.0)
    return Study(passage=passage, findings=(), ignored=(), seed=1)


def palindrome_study() -> Study:
    """Give the study of a straight palindrome: nine notes up to an axis and back."""
    up = [(5, 0), (5, 3), (4, 0), (4, 2), (3, 0), (3, 2), (2, 1), (2, 3)]
    places = [*up, (1, 0), *up[::-1]]
    notes = [Struck(2 * i, string, fret, 2) for i, (string, fret) in enumerate(places)]
    seventeen = Metre(groups=(3, 3, 3, 3, 3, 2), unit=8)
    passage = make_passage(notes, SIX, [seventeen], "Palindrome", 100.0)
    pairs = tuple(MirrorPair(left=i, right=16 - i, semitones_off=0) for i in range(7, -1, -1))
    mirror = Mirror(
        of="retrograde",
        voice="the moving voice",
        axis_quarters=17 * STEP,
        axis_pitch=None,
        core_quarters=Fraction(17, 4),
        reach_quarters=Fraction(17, 4),
        left=steps(0, 17),
        right=steps(17, 34),
        limb_ratio=1.0,
        scale=1.0,
        deviations=(),
        pairs=pairs,
    )
    limbs = (_limb(passage, steps(0, 18)), _limb(passage, steps(18, 34)))
    findings = (
        weighed(Kind.MIRROR, mirror, [passage.span], range(17)),
        weighed(Kind.GESTURE, Gesture(limbs=limbs, ratio=1.0, contour=(0, 1, 0)), [passage.span]),
    )
    return Study(passage=passage, findings=findings, ignored=(), seed=1)


def mirrored_study(of: MirrorOf) -> Study:
    """Give the study of a mirror: the odd one's gesture, else five notes and their image.

    The five notes and their images agree in all that is at issue.
    """
    if of == "gesture":
        return odd_study()
    fifth = [(5, 0), (5, 3), (4, 2), (3, 0), (3, 2)]
    pitches = [SIX.pitch_at(string, fret) for string, fret in fifth]
    axis = 52
    images = {
        "inversion": [2 * axis - pitch for pitch in pitches],
        "retrograde_inversion": [2 * axis - pitch for pitch in reversed(pitches)],
    }.get(of, pitches[::-1])
    notes = [Struck(2 * i, string, fret, 2) for i, (string, fret) in enumerate(fifth)]
    for i, pitch in enumerate(images):
        string = next(s for s in range(1, 7) if 0 <= pitch - SIX.open_pitch(s) <= 24)
        notes.append(Struck(10 + 2 * i, string, pitch - SIX.open_pitch(string), 2))
    if of == "weight":
        notes = [Struck(n.at, 6, 0, 2, PM) if n.at in {0, 6, 12, 18} else n for n in notes]
    five = Metre(groups=(3, 2), unit=8)
    passage = make_passage(notes, SIX, [five, five], "Five notes and their image", 90.0)
    rights = range(5, 10) if of == "inversion" else range(9, 4, -1)
    order = list(zip(range(5), rights, strict=True))
    if of != "inversion":
        order.reverse()
    if of == "weight":
        order = [(a, b) for a, b in order if a in {0, 3}]
    mirror = Mirror(
        of=of,
        voice="the moving voice",
        axis_quarters=10 * STEP,
        axis_pitch=Fraction(axis) if "inversion" in of else None,
        core_quarters=Fraction(1),
        reach_quarters=Fraction(5, 2),
        left=steps(0, 10),
        right=steps(10, 20),
        limb_ratio=1.0,
        scale=1.0,
        deviations=(),
        pairs=tuple(MirrorPair(left=a, right=b, semitones_off=0) for a, b in order),
    )
    findings = (weighed(Kind.MIRROR, mirror, [passage.span], range(10)),)
    return Study(passage=passage, findings=findings, ignored=(), seed=1)


def first_heard_seconds(shot: Shot, quarters: Fraction) -> float | None:
    """Tell when a moment of the score is first heard in a shot; `None` if it is not."""
    return next((p.seconds_at(quarters) for p in shot.plays if p.span.holds(quarters)), None)


def shot_of(
    study: Study,
    scene: SceneName,
    title: str = "Three falls, two quick climbs. The third fall stays down.",
    *,
    plays: Sequence[Span] = (),
    speed: float = 1.0,
    findings: Sequence[WeighedFinding] = (),
    lines: Sequence[str] = (),
    details: Sequence[str] = (),
) -> Shot:
    """Make a shot that plays spans one after the other, half a second apart, while it speaks."""
    passage = study.passage
    time_map = TimeMap.from_tempos(passage.tempos, passage.length_quarters)
    played: list[Play] = []
    start = 0.5
    for span in plays:
        play = Play(at_seconds=start, span=span, speed=speed, time_map=time_map)
        played.append(play)
        start += play.length_seconds + 0.5
    spoken = tuple(
        Line(text=text, start_seconds=0.2 + 3.0 * i, end_seconds=3.0 + 3.0 * i)
        for i, text in enumerate(lines)
    )
    length = max(start, spoken[-1].end_seconds if spoken else 0.0, 2.0)
    return Shot(
        name=f"01-{scene}",
        scene=scene,
        title=title,
        lines=spoken,
        plays=tuple(played),
        length_seconds=length,
        findings=tuple(findings),
        details=tuple(details),
    )


BELLS = Tuning(open_pitches=(38, 45, 50, 57, 62, 64))
CLIMB_OVER_A = (0, 1, 3, 4, 6, 7, 9, 10)
"""Frets on the A string, and then on the next but one: an octatonic line from A2 to C♯4."""


def bells_study() -> Study:
    """Study five times the same climb and fall, past three open strings that ring on: D3 D4 E4."""
    frets = [*((5, fret) for fret in CLIMB_OVER_A), *((3, fret) for fret in (0, 1, 3, 4))]
    notes: list[Struck] = []
    for at in range(0, 200, 40):
        notes += [Struck(at + i, string, 0, 40 - i, RING, 40 - i) for i, string in enumerate(BELL)]
        notes.append(Struck(at, 6, 0, 3))
        notes += [Struck(at + 3 + 2 * i, *place, 2) for i, place in enumerate(frets)]
        notes += [Struck(at + 27 + i, *place, 1) for i, place in enumerate(frets[:0:-1])]
    metres = [Metre(groups=(3, 2), unit=4)] * 10
    return study_passage(make_passage(notes, BELLS, metres, "Three bells", 100.0))


BELL = (4, 2, 1)
"""The strings that ring."""
