"""How long drawing takes, as a ratio to copying a finished frame (the floor), 1920 x 1080.

Three cases: a frame at rest, a frame in which one note comes up and a ring moves, and a whole page
of 160 notes drawn from nothing.

Run from the repository: python -m bench.draw
"""

import numpy as np
from bench.timing import machine, median_seconds, ratio

from riffract.picture.look import DARK
from riffract.picture.marks import Colour, Mark, Role, Shape, Stroke, circle, polyline
from riffract.picture.raster import ScenePainter, paint
from riffract.picture.scene import WIDE, Cue, Scene
from riffract.picture.string_mark import AHEAD, RAISED, Pluck, Posture, number_marks, pluck_marks

WIDTH, HEIGHT, ROUNDS = 1920, 1080, 40
POSTURES = tuple(Posture)


def main() -> None:
    """Print the ratios."""
    scene = page_of_notes()
    frame = paint(scene.ground, DARK, page=WIDE, width=WIDTH, height=HEIGHT)
    painter = ScenePainter(scene, DARK, width=WIDTH, height=HEIGHT)

    def at_rest() -> object:
        return painter.frame(0.0)

    times = iter(np.arange(0.01, 100.0, 1 / 30))

    def playing() -> object:
        return painter.frame(float(next(times)))

    def anew() -> object:
        return paint(scene.ground, DARK, page=WIDE, width=WIDTH, height=HEIGHT)

    print(f"{machine()}; {WIDTH} x {HEIGHT}, {len(scene.cues)} notes, {ROUNDS} rounds")
    print(f"floor: copying a frame takes {1000 * median_seconds(frame.copy, rounds=ROUNDS):.2f} ms")
    for name, work in (("at rest", at_rest), ("playing", playing), ("from nothing", anew)):
        print(f"{name:>12}: {ratio(work, frame.copy, rounds=ROUNDS):6.2f} x the floor")


def page_of_notes() -> Scene:
    """Lay out 160 notes in four rows, one coming up each twentieth of a second."""
    ground: list[Mark] = []
    cues = []
    for i in range(160):
        row, column = divmod(i, 40)
        y = 200.0 + 200 * row + 38 * (i % 5)
        string = polyline([(300, y), (1824, y)])
        ground.append(Shape(path=string, stroke=Stroke(colour=Colour(Role.STRING), width=2)))
        note = Pluck(
            x=300.0 + 38 * column, y=y, length=70, height=20, posture=POSTURES[i % len(POSTURES)]
        )
        ground += [*pluck_marks(note, AHEAD), number_marks(note, str(i % 12), 30, AHEAD)]
        lit: tuple[Mark, ...] = (
            *pluck_marks(note, RAISED),
            number_marks(note, str(i % 12), 30, RAISED),
        )
        cues.append(Cue(at_seconds=i / 20, marks=lit))

    def ring(moment: float) -> tuple[Mark, ...]:
        stroke = Stroke(colour=Colour(Role.TEXT), width=3)
        return (Shape(path=circle(300 + 150 * (moment % 10), 500, 26), stroke=stroke),)

    return Scene(
        page=WIDE,
        ground=tuple(ground),
        cues=tuple(cues),
        length_seconds=10.0,
        description="",
        moving=ring,
    )


if __name__ == "__main__":
    main()
