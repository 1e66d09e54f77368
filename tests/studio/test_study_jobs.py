"""The jobs of the Study desk, without a page or a server."""

from pathlib import Path

import pytest
from tests.studio.opened import demo_essay

from riffract.essay.by_hand.kept import HAND_SET_FILE, AxisEntry, StretchEntry, with_hand_set
from riffract.studio.problems import RefusedError
from riffract.studio.setting_by_hand import axes_seen, best_riff_seen, hand_set_with, riff_seen
from riffract.studio.studying import compared, exported, finding_picture, stretch_seen, study_seen


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
    assert (later.places[later.first], later.start) == ("bar 1, beat 4", "3/2")


def test_a_riff_outside_of_the_passage_is_refused(essay: Path):
    with pytest.raises(RefusedError, match="2 or more of 129 attacks"):
        riff_seen(quiet, str(essay), 128, 9)


def test_what_is_set_by_hand_is_measured_with_each_study_and_its_mistakes_are_told(essay: Path):
    axis = axes_seen(quiet, str(essay))[0].axes[40]
    text = hand_set_with(quiet, str(essay), "", AxisEntry(of="rhythm", at=axis.at))
    (essay / HAND_SET_FILE).write_text(with_hand_set(text, StretchEntry(bars="99")))
    seen = study_seen(quiet, str(essay))
    (kept,) = seen.by_hand
    assert axis.place in kept.sentence
    assert seen.hand_problems[0].startswith(
        'findings.toml:5 (stretch 1, bars): "99" names no stretch'
    )
    with pytest.raises(RefusedError, match="no stretch"):
        hand_set_with(quiet, str(essay), "", StretchEntry(bars="99"))


def test_what_is_not_there_is_refused_in_words(essay: Path):
    with pytest.raises(RefusedError, match="no stretch 3-99"):
        stretch_seen(quiet, str(essay), "3-99")
    with pytest.raises(RefusedError, match="nothing is struck"):
        stretch_seen(quiet, str(essay), "1:1.01-1:1.02")
    with pytest.raises(RefusedError, match="no finding mirror-0 any more"):
        finding_picture(quiet, str(essay), "mirror-0", "dark", 320)
    with pytest.raises(RefusedError, match="no index of a corpus"):
        compared(quiet, str(essay), str(essay))
    assert compared(quiet, str(essay))["pieces"]


def test_a_stretch_from_beat_to_beat_is_studied_alone(essay: Path):
    whole = stretch_seen(quiet, str(essay), "1-3")
    part = stretch_seen(quiet, str(essay), "1:2-3:4")
    assert (whole.name, whole.words) == ("1-3", "bars 1 to 3")
    assert (part.name, part.words) == ("1:2-3:4", "bar 1, beat 2, up to bar 3, beat 4")
    assert part.seen.bars == 3


def test_an_essay_in_german_is_told_in_german_all_through(tmp_path: Path):
    folder = demo_essay(tmp_path / "ebbe")
    settings = folder / "essay.toml"
    settings.write_text('language = "de"\n' + settings.read_text("utf-8"), "utf-8")
    (folder / HAND_SET_FILE).write_text(with_hand_set("", StretchEntry(bars="1-3")))
    seen = study_seen(quiet, str(folder))
    first = seen.questions[0].findings[0]
    assert first.sentence.startswith("Das Riff")
    assert first.places.startswith("Takt")
    assert first.verdict == "gesichert"
    assert seen.by_hand[0].sentence.startswith("Takte 1 bis 3, für sich allein betrachtet:")
    assert "Takte 1 bis 3, für sich allein" in exported(quiet, str(folder), "csv")
    assert stretch_seen(quiet, str(folder), "1-3").words == "Takte 1 bis 3"
