"""The jobs of the Show desk, without a server: what is brought up ahead changes no picture."""

from pathlib import Path

from tests.studio.opened import demo_essay

from riffract.studio.showing import film_frame, film_plan, get_ready

WIDTH_PX = 320


def untold(_what: str, _share: float) -> None:
    """Tell nobody how far a job is."""


def test_a_frame_is_the_same_whether_or_not_its_shot_was_brought_up(tmp_path: Path):
    folder = str(demo_essay(tmp_path / "tide"))
    plan = film_plan(untold, folder)
    moments = [shot.start + share * shot.length for shot in plan.shots for share in (0.8, 0.2)]
    before = [film_frame(untold, folder, at, WIDTH_PX) for at in moments]
    film_plan(untold, str(demo_essay(tmp_path / "other")))  # the film that is kept is another one
    steps, step = 1, 0
    while step < steps:
        steps = get_ready(untold, folder, step, WIDTH_PX)
        step += 1
    assert steps >= len(plan.shots)
    assert [film_frame(untold, folder, at, WIDTH_PX) for at in moments] == before
