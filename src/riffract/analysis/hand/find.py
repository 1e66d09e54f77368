"""What does the instrument explain?

The written places are fingered in the cheapest way, and compared with the cheapest places for the
same pitches. Shapes that come back moved are looked for, and each symmetry in pitch is asked
whether moving a shape gives it of itself. Costs are estimates by weights of our own (`hand.grip`).
"""

from collections.abc import Iterable, Sequence
from dataclasses import dataclass
from itertools import pairwise
from types import MappingProxyType
from typing import Final

from riffract.analysis.attacks import Attack
from riffract.analysis.finding import Finding, Hand, Ignored, Kind
from riffract.analysis.hand.by_product import by_products
from riffract.analysis.hand.fingering_path import Path, cheapest_path
from riffract.analysis.hand.grip import FINGERS, stretch_mm
from riffract.analysis.hand.moments import HandAttack, as_written, hand_attacks, wherever
from riffract.analysis.hand.moved_shape import (
    SHORTEST_STROKES,
    FoundShape,
    HandRow,
    find_shapes,
    hand_row,
    moved_starts,
    place_numbers,
    span_of,
)
from riffract.analysis.hand.words import hand_detail, hand_sentence
from riffract.analysis.saying import say
from riffract.analysis.what.hand import Grip, MovedShape
from riffract.music import Passage, Proposed, Span, Tuning

WIDE_STRETCH_MM: Final = 120.0
"""Wider than a finger a fret in first position (97 mm) by most of a fret: five frets from the first
one on (126 mm) are a stretch that players prepare for (common practice)."""

FEWEST_STROKES: Final = 2 * SHORTEST_STROKES
"""Below two rows of strokes no shape can come back."""

LONGEST_PATH: Final = 4_000
"""Attacks that are fingered; beyond, the path would take longer than all else together."""


@dataclass(frozen=True, slots=True, kw_only=True)
class FoundHand:
    """What the hand does, with the strokes that it was found in.

    Attributes:
        finding: the answer.
        row: the strokes.
    """

    finding: Finding
    row: HandRow


def find_hand(passage: Passage, attacks: Sequence[Attack]) -> FoundHand | None:
    """Follow the fretting hand through a passage.

    Returns:
        `None` if too few attacks are fretted for a shape to come back, or if the places are not
        the writer's.
    """
    if Proposed.FINGERING in passage.proposed:
        return None
    moments = hand_attacks(passage, attacks)
    row = hand_row(moments)
    if len(row) < FEWEST_STROKES:
        return None
    fingered = moments[:LONGEST_PATH]
    written = cheapest_path(as_written(fingered), passage.tuning)
    cheapest = cheapest_path(wherever(passage, fingered), passage.tuning)
    found = find_shapes(row)
    places = place_numbers(row.strings, row.frets)
    shapes = tuple(_moved_shape(passage, attacks, row, one) for one in found)
    path = _grips(fingered, written, passage.tuning)
    answer = Hand(
        path=path,
        path_cost=round(cheapest.cost, 6),
        written_cost=round(written.cost, 6),
        shapes=shapes,
        explains_share=round(_explained_notes(row, found) / max(row.note_count, 1), 6),
        explains=by_products(passage, attacks, row, found),
        wide_stretches=tuple(g.at_quarters for g in path if g.stretch_mm >= WIDE_STRETCH_MM),
    )
    in_shapes = {i for shape in shapes for notes in shape.notes for i in notes}
    finding = Finding(
        kind=Kind.HAND,
        spans=_spans(shapes, passage),
        notes=tuple(sorted(in_shapes or {i for of in row.notes for i in of})),
        what=answer,
        measures=MappingProxyType(_measures(answer, row, found, len(in_shapes))),
        sentence=hand_sentence(
            passage.tuning, answer, row.note_count, [len(set(_at(places, s))) for s in found]
        ),
        detail=hand_detail(passage, answer, is_cut=len(moments) > LONGEST_PATH),
    )
    return FoundHand(finding=finding, row=row)


def left_out_of_hand(passage: Passage) -> tuple[Ignored, ...]:
    """Say that the hand is not looked at where its places are not the writer's."""
    if Proposed.FINGERING not in passage.proposed:
        return ()
    why = say(
        "strings and frets were proposed, not written, so what they explain would be our doing"
    )
    return (Ignored(what=say("what the hand explains"), why=why, where=say("everywhere")),)


def _at(places: Iterable[int], shape: FoundShape) -> list[int]:
    row = list(places)
    return [row[start] for start in shape.starts]


def _moved_shape(
    passage: Passage, attacks: Sequence[Attack], row: HandRow, found: FoundShape
) -> MovedShape:
    statements = [range(start, start + found.length) for start in found.starts]
    string, fret = row.places[found.starts[0]][0]
    return MovedShape(
        places=tuple(place for k in statements[0] for place in row.places[k]),
        spans=tuple(span_of(row, one, passage, attacks) for one in statements),
        moves=tuple(
            (row.places[start][0][0] - string, row.places[start][0][1] - fret)
            for start in found.starts[1:]
        ),
        notes=tuple(tuple(sorted(i for k in one for i in row.notes[k])) for one in statements),
    )


def _explained_notes(row: HandRow, found: Sequence[FoundShape]) -> int:
    """How many notes lie in statements that stand elsewhere than the first of their shape."""
    places = place_numbers(row.strings, row.frets)
    moved = {
        start + k for one in found for start in moved_starts(one, places) for k in range(one.length)
    }
    first = {one.starts[0] + k for one in found for k in range(one.length)}
    return sum(len(row.notes[k]) for k in moved - first)


def _grips(moments: Sequence[HandAttack], path: Path, tuning: Tuning) -> tuple[Grip, ...]:
    grips = []
    for one, grip in zip(moments, path.grips, strict=True):
        notes = [note for note, _ in (*one.fretted, *one.held)]
        fingers = tuple(
            (note, finger) for note, finger in zip(notes, grip.fingers, strict=True) if finger
        )
        grips.append(
            Grip(
                at_quarters=one.attack.onset_quarters,
                position=grip.position if grip.places else None,
                fingers=fingers,
                stretch_mm=round(stretch_mm(grip.places, tuning), 3),
            )
        )
    return tuple(grips)


def _spans(shapes: Sequence[MovedShape], passage: Passage) -> tuple[Span, ...]:
    return tuple(sorted({span for shape in shapes for span in shape.spans})) or (passage.span,)


def _measures(
    answer: Hand, row: HandRow, found: Sequence[FoundShape], notes_in_shapes: int
) -> dict[str, float]:
    positions = [grip.position for grip in answer.path if grip.position is not None]
    shifts = [abs(b - a) for a, b in pairwise(positions) if a != b]
    beyond = sum(not grip.fingers and grip.position is not None for grip in answer.path)
    return {
        "fretted_notes": float(row.note_count),
        "notes_in_shapes": float(notes_in_shapes),
        "explained_share": answer.explains_share,
        "statements": float(sum(len(one.starts) for one in found)),
        "written_cost": answer.written_cost,
        "cheapest_cost": answer.path_cost,
        "lowest_position": float(min(positions, default=0)),
        "highest_position": float(max(positions, default=0)),
        "shifts": float(len(shifts)),
        "widest_stretch_mm": max((grip.stretch_mm for grip in answer.path), default=0.0),
        f"attacks_beyond_{FINGERS}_fingers": float(beyond),
    }
