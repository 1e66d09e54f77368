"""A small passage of our own, and a study of it written by hand, for tests of what goes out.

The findings obey the contracts of `riffract.analysis.finding`; their numbers are made up, so no
test may take them for results.
"""

from collections.abc import Sequence
from fractions import Fraction
from types import MappingProxyType

import numpy as np

from riffract.analysis.finding import (
    Anchor,
    AttackContent,
    Collection,
    CollectionChange,
    Colour,
    Deviation,
    Drone,
    Edit,
    Finding,
    ForeignNote,
    Gesture,
    Hand,
    Ignored,
    IntervalCount,
    Kind,
    Limb,
    MetreAnswer,
    Mirror,
    MirrorPair,
    Motive,
    OtherMaterial,
    Pass,
    Passes,
    Pattern,
    Reading,
    Sonority,
    What,
)
from riffract.analysis.what.hand import ExplainedFinding, Grip, MovedShape
from riffract.analysis.what.metre import MetreReading, PhaseRow
from riffract.analysis.what.motive import MotivePlace, Transform
from riffract.analysis.what.pattern import PatternOccurrence
from riffract.essay.shots import Line, Play, SceneName, Shot
from riffract.essay.soundtrack import Soundtrack
from riffract.music import (
    Metre,
    NoteTableBuilder,
    Passage,
    Section,
    Span,
    Technique,
    TempoMark,
    TimeMap,
    Tuning,
    bars_in_row,
)
from riffract.picture import marks
from riffract.picture.marks import Mark, Role, Shape, Stroke, Words, polyline, rectangle
from riffract.picture.scene import WIDE, Cue, Scene
from riffract.publish.about import About
from riffract.sound.sound import Sound
from riffract.weighing.chance import Chance
from riffract.weighing.study import Rival, Study, Verdict, WeighedFinding

SEED = 11
EIGHTH = Fraction(1, 2)


def span(start: Fraction | int | str, end: Fraction | int | str) -> Span:
    return Span(Fraction(start), Fraction(end))


def small_passage(title: str = "Étude in a leaning glass") -> Passage:
    """Four bars of 7/8 and 5/8 for seven strings; a dead note, a harmonic and a triplet in it."""
    tuning = Tuning(open_pitches=(34, 41, 46, 51, 56, 60, 65))
    seven, five = Metre(groups=(2, 2, 3), unit=8), Metre(groups=(3, 2), unit=8)
    bars = bars_in_row(((m, None, n) for n, m in enumerate((seven, five, seven, five), start=1)))
    notes = NoteTableBuilder()

    def add(onset: Fraction, length: Fraction, string: int, fret: int, **more: object) -> None:
        pitch = tuning.pitch_at(string, fret)
        values: dict[str, object] = {"pitch": pitch, **more}
        notes.add(
            onset_quarters=onset,
            duration_quarters=length,
            string=string,
            fret=fret,
            **values,  # type: ignore[arg-type]
        )

    for start in (Fraction(0), Fraction(6)):
        falling = [(3, 7), (3, 6), (4, 7), (4, 6), (5, 5), (6, 5), (7, 6)]
        for step, (string, fret) in enumerate(falling):
            add(start + step * EIGHTH, EIGHTH, string, fret)
        add(start, EIGHTH, 4, 0, ring_end_quarters=start + 3, techniques=Technique.LET_RING)
        add(start + Fraction(7, 2), EIGHTH, 7, 0, techniques=Technique.PALM_MUTE | Technique.ACCENT)
        add(start + 4, EIGHTH, 7, 0, pitch=None, techniques=Technique.DEAD)
        for third in range(3):
            add(start + Fraction(9, 2) + Fraction(third, 3), Fraction(1, 3), 5 - third, 4 + third)
        add(
            start + Fraction(11, 2),
            EIGHTH,
            3,
            12,
            pitch=tuning.open_pitch(3) + 12,
            techniques=Technique.NATURAL_HARMONIC,
        )
    return Passage(
        title=title,
        tuning=tuning,
        bars=bars,
        tempos=(TempoMark(at_quarters=Fraction(0), quarters_per_minute=120.0),),
        notes=notes.build(),
        sections=(Section(label="A", span=span(0, 12)),),
        source="passage.tab",
    )


def content(*pitches: int, quarters: Fraction = EIGHTH) -> AttackContent:
    return AttackContent(pitches=pitches, value_quarters=quarters)


def small_whats() -> dict[Kind, What]:
    """One record of each kind of finding."""
    return {
        Kind.PASSES: Passes(
            readings=(
                Reading(
                    template=span(0, 6),
                    passes=(
                        Pass(span=span(0, 6), edits=(), truncated="none", pairs=((0, 0),)),
                        Pass(
                            span=span(6, 12),
                            edits=(
                                Edit(
                                    op="substitute",
                                    at_quarters=Fraction(13, 2),
                                    expected=content(62),
                                    found=content(63),
                                    notes=(14,),
                                    template_attack=1,
                                ),
                                Edit(
                                    op="delete",
                                    at_quarters=Fraction(34, 3),
                                    expected=content(60, quarters=Fraction(1, 3)),
                                    found=None,
                                    notes=(),
                                    template_attack=9,
                                ),
                            ),
                            truncated="right",
                            pairs=((0, 12),),
                        ),
                    ),
                    other=(OtherMaterial(span=span("23/2", 12), role="coda"),),
                    bits=311.25,
                ),
            )
        ),
        Kind.MIRROR: Mirror(
            of="inversion",
            voice="the moving voice",
            axis_quarters=Fraction(7, 2),
            axis_pitch=Fraction(121, 2),
            core_quarters=Fraction(1),
            reach_quarters=Fraction(5, 2),
            left=span(0, "7/2"),
            right=span("7/2", 6),
            limb_ratio=7 / 5,
            scale=1.4,
            deviations=(
                Deviation(at_quarters=Fraction(9, 2), expected=content(50), found=None),
                Deviation(at_quarters=Fraction(5), expected=content(50), found=content(51)),
            ),
            pairs=(MirrorPair(left=6, right=9, semitones_off=0),),
        ),
        Kind.GESTURE: Gesture(
            limbs=(
                Limb(
                    span=span(0, "7/2"),
                    direction="falling",
                    semitones=-23,
                    slope=-23 / 3.5,
                    notes=(0, 2, 3),
                ),
                Limb(
                    span=span("9/2", 6),
                    direction="rising",
                    semitones=13,
                    slope=13 / 1.5,
                    notes=(9,),
                ),
            ),
            ratio=7 / 3,
            contour=(2, 0, 1),
        ),
        Kind.SONORITY: Sonority(
            prime_form=(0, 1, 6),
            forte="3-5",
            how="in_succession",
            occurrences=(span(0, "3/2"), span(6, "15/2")),
            occurrence_pcs=((3, 2, 8), (3, 2, 8)),
            share=0.25,
            is_first_sound=False,
        ),
        Kind.COLLECTION: Collection(
            family="octatonic",
            form="OCT0,1",
            pcs=(0, 1, 3, 4, 6, 7, 9, 10),
            fragment=True,
            inside_share=11 / 13,
            foreign=(ForeignNote(at_quarters=Fraction(2), pc=2),),
            missing=(4, 9),
            with_drone=False,
        ),
        Kind.COLLECTION_CHANGE: CollectionChange(
            from_form="OCT0,1",
            to_form="OCT1,2",
            from_pcs=(0, 1, 3, 4, 6, 7, 9, 10),
            to_pcs=(1, 2, 4, 5, 7, 8, 10, 11),
            at_quarters=Fraction(9, 2),
            common_pcs=(1, 4, 7, 10),
            transposition=1,
        ),
        Kind.DRONE: Drone(
            string=4,
            pitch=51,
            is_open=True,
            position="middle",
            colours=(
                Colour(at_quarters=Fraction(0), semitones=12, name="octave above", note=1),
                Colour(at_quarters=Fraction(2), semitones=-1, name="semitone below", note=6),
            ),
        ),
        Kind.ANCHOR: Anchor(
            pitch=34,
            intervals=MappingProxyType(
                {
                    6: IntervalCount(count=2, quarters=Fraction(1)),
                    13: IntervalCount(count=4, quarters=Fraction(5, 3)),
                }
            ),
            timeline=(Fraction(7, 2), Fraction(19, 2)),
        ),
        Kind.MOTIVE: Motive(
            source=MotivePlace(
                passage=-1, title="Étude in a lamp", span=span(0, 2), notes=(0, 1, 2, 3)
            ),
            return_=MotivePlace(
                passage=0, title="Étude in a leaning glass", span=span(6, 9), notes=(12, 13, 14)
            ),
            transform=Transform(
                transposition=-5, inversion=True, retrograde=False, scale=Fraction(3, 2)
            ),
            inserted=(),
            dropped=(3,),
            changed=((2, 14),),
        ),
        Kind.PATTERN: Pattern(
            space="onset_string_fret",
            vectors=((Fraction(0),) * 3, (EIGHTH, Fraction(0), Fraction(-1))),
            occurrences=(
                PatternOccurrence(
                    span=span(0, 1), shift_quarters=Fraction(0), shift=(0, 0), notes=(0, 2)
                ),
                PatternOccurrence(
                    span=span(1, 2), shift_quarters=Fraction(1), shift=(1, 0), notes=(3, 4)
                ),
            ),
        ),
        Kind.HAND: Hand(
            path=(
                Grip(at_quarters=Fraction(0), position=6, fingers=((0, 2),), stretch_mm=0.0),
                Grip(at_quarters=Fraction(7, 2), position=None, fingers=(), stretch_mm=0.0),
            ),
            path_cost=12.5,
            written_cost=14.0,
            shapes=(
                MovedShape(
                    places=((3, 7), (3, 6)),
                    spans=(span(0, 1), span(1, 2)),
                    moves=((1, 0),),
                    notes=((0, 2), (3, 4)),
                ),
            ),
            explains_share=0.25,
            explains=(ExplainedFinding(what="transposed_repeat", span=span(0, 2), explained=True),),
        ),
        Kind.METRE: MetreAnswer(
            grouping=(
                MetreReading(groups=(2, 2, 3), bits=41.5, is_written=True),
                MetreReading(groups=(3, 2, 2), bits=47.25, is_written=False),
            ),
            phase=(
                PhaseRow(pass_number=1, bar=1, offset_quarters=Fraction(0)),
                PhaseRow(pass_number=2, bar=3, offset_quarters=Fraction(0)),
            ),
            meets_after=None,
            density=(2.0, 2.4, 2.0, 2.4),
            evenness=0.875,
            off_beat_share=0.3,
        ),
    }


_SENTENCES = {
    Kind.PASSES: "Twelve quarters, twice; the second time two places differ.",
    Kind.MIRROR: "The climb turns the fall upside down in less time.",
    Kind.GESTURE: "A long fall is answered by a short climb.",
    Kind.SONORITY: "A semitone and a tritone in a row open both passes.",
    Kind.COLLECTION: "The fall draws on one octatonic scale.",
    Kind.COLLECTION_CHANGE: "The climb takes the next octatonic scale, a semitone higher.",
    Kind.DRONE: "One open string in the middle rings through the fall.",
    Kind.ANCHOR: "Above the lowest string sit the tritone and the semitone.",
    Kind.MOTIVE: "The close of the lamp comes back upside down, slower and a note shorter.",
    Kind.PATTERN: "One figure of two notes is played on string after string.",
    Kind.HAND: "One hand shape gives a quarter of the fretted notes.",
    Kind.METRE: "Seven is felt as two, two and three.",
}

_VERDICTS = {
    Kind.PASSES: Verdict.FIRM,
    Kind.MIRROR: Verdict.LIKELY,
    Kind.GESTURE: Verdict.FIRM,
    Kind.SONORITY: Verdict.NOT_BEYOND_CHANCE,
    Kind.COLLECTION: Verdict.SUGGESTIVE,
    Kind.COLLECTION_CHANGE: Verdict.LIKELY,
    Kind.DRONE: Verdict.TRIVIAL,
    Kind.ANCHOR: Verdict.NOT_BEYOND_CHANCE,
    Kind.MOTIVE: Verdict.LIKELY,
    Kind.PATTERN: Verdict.LIKELY,
    Kind.HAND: Verdict.SUGGESTIVE,
    Kind.METRE: Verdict.TRIVIAL,
}


def weighed(kind: Kind, *, sentence: str | None = None) -> WeighedFinding:
    """Give one weighed finding of a kind."""
    what = small_whats()[kind]
    chance = Chance(
        observed=5.0,
        draws=(1.0, 2.0, 3.0, 2.5) * 25,
        model="rhythm kept, pitches reordered",
        seed=SEED,
    )
    has_chance = kind not in {Kind.DRONE, Kind.PASSES}
    return WeighedFinding(
        finding=Finding(
            kind=kind,
            spans=(span(0, 6), span(6, 12)) if kind is Kind.PASSES else (span(0, "7/2"),),
            notes=(0, 2, 3, 4),
            what=what,
            measures={"agreement_share": 0.1 + 0.2, "length_quarters": 6.0},
            sentence=sentence or _SENTENCES[kind],
            detail=f"{_SENTENCES[kind][:-1]} (reach 2.5 quarters, agreement 0.3).",
        ),
        verdict=_VERDICTS[kind],
        chance=chance if has_chance else None,
        q=0.0198 if has_chance else None,
        log10_bayes=2.25 if kind in {Kind.COLLECTION, Kind.COLLECTION_CHANGE} else None,
        rivals=(Rival(description="a straight mirror one eighth later", bits=4.5),),
    )


def small_study(title: str = "Étude in a leaning glass") -> Study:
    """Give a study with one finding of each kind."""
    return Study(
        passage=small_passage(title),
        findings=tuple(weighed(kind) for kind in Kind),
        ignored=(
            Ignored(what="dead note", why="it carries rhythm but no pitch", where="bar 2, beat 2"),
        ),
        seed=SEED,
        asked=21,
    )


def small_shots(study: Study) -> tuple[Shot, ...]:
    """Give a title, two claims, the whole and the credits: 24 seconds."""
    passage = study.passage
    time_map = TimeMap.from_tempos(passage.tempos, passage.length_quarters)
    return (
        _shot("01-title", SceneName.TITLE, passage.title, 3.0, [], [], details=("Ada Sample",)),
        _shot(
            "02-page",
            SceneName.PAGE,
            study.findings[0].finding.sentence,
            7.0,
            [("Twelve eighths, twice. Listen for the two places that differ.", 0.5, 4.5)],
            [Play(at_seconds=0.5, span=span(0, 12), speed=1.0, time_map=time_map)],
            findings=study.findings[:1],
        ),
        _shot(
            "03-fold",
            SceneName.FOLD,
            study.findings[1].finding.sentence,
            9.0,
            [
                ("Seven steps down, then five up: the mirror leans, & nothing is lost.", 1.0, 5.0),
                ("Where it fails, a bracket says by how much.", 5.5, 8.5),
            ],
            [
                Play(
                    at_seconds=1.0,
                    span=span(0, 6),
                    speed=0.5,
                    time_map=time_map,
                    strings=(3, 4, 5),
                )
            ],
            findings=study.findings[1:2],
        ),
        _shot("04-credits", SceneName.CREDITS, "Credits", 5.0, [], [], details=("Ada Sample",)),
    )


ABOUT = About(
    title="Étude in a leaning glass",
    subtitle="How a fall becomes a climb",
    credits=("Music and analysis: Ada Sample", "Played by a model of plucked strings"),
    rights="© 2026 Ada Sample. The music is her own; share it unchanged, with her name.",
)

TAB_TEXT = """\
title: Étude in a leaning glass
tuning: Bb1 F2 Bb2 Eb3 Ab3 C4 F4
tempo: q = 120

      7/8 = 2+2+3                           5/8 = 3+2
time | e    e    e    e    e    e    e    | e    e    3:t 3:t |
F4   |------------------------------------|-------------------|
C4   |------------------------------------|-------------------|
Ab3  |-7----6-----------------------------|----------<12>-----|
Eb3  |-0---------7----6-------------------|------------5------|
Bb2  |---------------------5--------------|----------4--------|
F2   |--------------------------5---------|-------------------|
Bb1  |-------------------------------6----|-0----x------------|
"""


def small_scene(shot: Shot) -> Scene:
    """A title, a string with a mark for each line, and a bar that moves once a second."""

    def moving(seconds: float) -> tuple[Mark, ...]:
        x = 96.0 + 40.0 * int(seconds)
        return (Shape(path=rectangle(x, 800, 30, 60), fill=marks.Colour(Role.RISE)),)

    string = polyline([(96, 600), (1824, 600)])
    return Scene(
        page=WIDE,
        ground=(
            Words(
                x=96, y=112, text=shot.title, size=50, weight=600, colour=marks.Colour(Role.TEXT)
            ),
            Shape(path=string, stroke=Stroke(colour=marks.Colour(Role.STRING), width=2.0)),
        ),
        cues=tuple(
            Cue(
                at_seconds=line.start_seconds,
                marks=(
                    Shape(
                        path=rectangle(200 + 300 * n, 600, 120, 40), fill=marks.Colour(Role.FALL)
                    ),
                ),
            )
            for n, line in enumerate(shot.lines)
        ),
        length_seconds=shot.length_seconds,
        description=f"One string; on it, what “{shot.title}” speaks of.",
        moving=moving,
    )


def _shot(  # noqa: PLR0917
    name: str,
    scene: SceneName,
    title: str,
    length_seconds: float,
    lines: Sequence[tuple[str, float, float]],
    plays: Sequence[Play],
    *,
    findings: tuple[WeighedFinding, ...] = (),
    details: tuple[str, ...] = (),
) -> Shot:
    return Shot(
        name=name,
        scene=scene,
        title=title,
        lines=tuple(Line(text=t, start_seconds=a, end_seconds=b) for t, a, b in lines),
        plays=tuple(plays),
        length_seconds=length_seconds,
        findings=findings,
        details=details,
    )


def silent_soundtrack(seconds: float) -> Soundtrack:
    """Make the sound of a film in which nothing sounds."""
    sound = Sound.silence(seconds)
    ducking = np.ones(sound.sample_count, dtype=np.float32)
    return Soundtrack(sound=sound, placed={}, gains={}, ducking=ducking)
