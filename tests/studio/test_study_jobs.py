"""The jobs of the Study desk, without a page or a server."""

from pathlib import Path

import pytest
from tests.studio.opened import demo_essay

from riffract.essay.hand_set import HAND_SET_FILE, AxisEntry, StretchEntry, with_hand_set
from riffract.studio.problems import RefusedError
from riffract.studio.setting_by_hand import axes_seen, best_riff_seen, hand_set_with, riff_seen
from riffract.studio.studying import compared, finding_picture, stretch_seen, study_seen


def quiet(_what: str, _share: float) -> None:
    """Hear no progress."""


@pytest.fixture(scope="module")
def essay(tmp_path_factory: pytest.TempPathFactory) -> Path:
    return demo_essay(tmp_path_factory.mktemp("study") / "tide")


def test_the_riff_that_is_found_is_where_setting_one_starts(essay: Path):
    best = best_riff_seen(quiet, str(essay))
    assert best.bits == best.best_bits
    later = riff_seen(quiet, str(essay), best.first + 1, best.count)
    assert later.bits > best.bits
    assert (later.starts_at, later.start) == ("bar 1, beat 4", "3/2")


def test_a_riff_outside_of_the_passage_is_refused(essay: Path):
    with pytest.raises(RefusedError, match="2 or more of 129 attacks"):
        riff_seen(quiet, str(essay), 128, 9)


def test_what_is_set_by_hand_is_measured_with_each_study_and_its_mistakes_are_told(essay: Path):
    axis = axes_seen(quiet, str(essay))[0].axes[40]
    text = hand_set_with(quiet, str(essay), "", AxisEntry(of="rhythm", at=axis.quarters))
    (essay / HAND_SET_FILE).write_text(with_hand_set(text, StretchEntry(bars="99")))
    seen = study_seen(quiet, str(essay))
    (kept,) = seen.by_hand
    assert axis.place in kept.sentence
    assert seen.hand_problems[0].startswith('findings.toml:5 (stretch 1, bars): "99" names no bars')
    with pytest.raises(RefusedError, match="no bars"):
        hand_set_with(quiet, str(essay), "", StretchEntry(bars="99"))


def test_what_is_not_there_is_refused_in_words(essay: Path):
    with pytest.raises(RefusedError, match="no bars 3 to 99"):
        stretch_seen(quiet, str(essay), 3, 99)
    with pytest.raises(RefusedError, match="no finding mirror-0 any more"):
        finding_picture(quiet, str(essay), "mirror-0", "dark", 320)
    with pytest.raises(RefusedError, match="no index of a corpus"):
        compared(quiet, str(essay), str(essay))
    assert compared(quiet, str(essay))["pieces"]
