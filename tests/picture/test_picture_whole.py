"""The whole: everything at once, and a ray from each note to its places."""

from collections.abc import Callable
from dataclasses import replace
from fractions import Fraction
from itertools import pairwise

import pytest
from tests.picture_studies import (
    SIX,
    Struck,
    make_passage,
    mirrored_study,
    odd_study,
    palindrome_study,
    plain_study,
    shot_of,
    steps,
    wide_study,
)

from riffract.analysis.finding import Kind, Mirror
from riffract.essay.shots import SceneName, Shot
from riffract.music import Metre, Note, Tuning
from riffract.picture.bent_mirror import mirror_x
from riffract.picture.check import faults_of, words_seen
from riffract.picture.clock.subject import subject_of
from riffract.picture.fold.scene import fold_scene
from riffract.picture.hearing import visits
from riffract.picture.layout import layout_of
from riffract.picture.look import DARK, PAPER, Look
from riffract.picture.scene import TALL, WIDE, Page
from riffract.picture.string_view import fret_text
from riffract.picture.type import set_line
from riffract.picture.voices import voices_of
from riffract.picture.whole.drawing import length_marks, panel_marks
from riffract.picture.whole.gaps import boxes_of_words, line_around
from riffract.picture.whole.mirror import FOLDABLE, written
from riffract.picture.whole.plan import (
    BETWEEN_NUMBERS_SHARE,
    WholePlan,
    plan_whole,
)
from riffract.picture.whole.ray import on_the_way, ray_marks, stations_of
from riffract.picture.whole.reading import GO_SECONDS, LEAST_REST_SECONDS, target_at, targets_of
from riffract.picture.whole.readout import readout_of
from riffract.picture.whole.scene import whole_scene
from riffract.weighing.study import Study

ODD = odd_study()
STUDIES: dict[str, Callable[[], Study]] = {
    "odd": odd_study,
    "plain": plain_study,
    "wide": wide_study,
    "palindrome": palindrome_study,
}
studies = pytest.mark.parametrize("make", STUDIES.values(), ids=STUDIES)


def playing(study: Study) -> Shot:
    end = min(int(study.passage.length_quarters * 4), 104)
    return shot_of(study, SceneName.WHOLE, plays=[steps(0, end)], lines=["Hear it once more."])


def plan_of(study: Study) -> WholePlan:
    shot = playing(study)
    return plan_whole(study, shot, voices_of(study, shot), layout_of(shot, WIDE))


@studies
def test_every_note_stands_in_one_window_and_one_row(make: Callable[[], Study]) -> None:
    study = make()
    plan = plan_of(study)
    for note in study.passage.notes:
        assert sum(w.contour.holds(note.index) for w in plan.windows) == 1
        assert sum(row.span.holds(note.onset_quarters) for _, row in plan.rows) == 1
        _, row = plan.rows[plan.row_of(note)]
        assert row.span.holds(note.onset_quarters)


def chugs() -> Study:
    """Sixteenths on the low string, eight to a fret: closer than their numbers could stand."""
    frets = [fret for fret in (0, 3, 12, 5) * 2 for _ in range(8)]
    notes = [Struck(i, 6, fret, 1) for i, fret in enumerate(frets)]
    music = make_passage(notes, SIX, [Metre(groups=(4,), unit=4)] * 4, "Chugs", 90.0)
    return replace(plain_study(), passage=music, findings=())


@pytest.mark.parametrize("make", [*STUDIES.values(), chugs])
def test_numbers_are_told_apart_and_only_repeats_go_without(make: Callable[[], Study]) -> None:
    study = make()
    plan = plan_of(study)
    for window, row in plan.rows:
        written: dict[int, Note] = {}
        for note in study.passage.notes:
            if not row.span.holds(note.onset_quarters):
                continue
            last = written.get(note.string)
            if note.index in window.unnumbered:
                assert last is not None
                assert fret_text(note) == fret_text(last)
                continue
            if last is not None:
                ink_end = set_line(fret_text(last), row.fret_size, 600).ink[2]
                gap = row.x(note.onset_quarters) - row.x(last.onset_quarters) - ink_end
                assert gap >= BETWEEN_NUMBERS_SHARE * row.fret_size - 1e-6
            written[note.string] = note


def test_a_fret_that_changes_is_written_and_a_crowded_repeat_is_not() -> None:
    (row,) = plan_of(chugs()).rows
    written = {i for i in range(64) if i not in row[0].unnumbered}
    assert written == set(range(0, 64, 8))


@studies
def test_passes_share_one_scale_and_windows_stay_left_of_the_panel(
    make: Callable[[], Study],
) -> None:
    plan = plan_of(make())
    passes = [window for window in plan.windows if window.stretch.pass_index is not None]
    assert len({window.contour.px_per_quarter for window in passes}) <= 1
    for window, row in plan.rows:
        assert window.contour.right <= plan.right + 1e-6
        assert row.right <= plan.right + 1e-6
        assert plan.right < plan.panel.left
        assert row.fret_size >= 30.0
        assert row.gap >= 1.25 * row.fret_size - 1e-9


def test_the_mirror_stands_in_its_window_and_joins_its_partners() -> None:
    plan = plan_of(ODD)
    assert [w.mirror is not None for w in plan.windows] == [False, True, False, False]
    window = plan.windows[1]
    assert window.mirror is not None
    for index, pair in window.mirror.partners.items():
        assert index in {pair.left, pair.right}
        left, right = (written(window.contour, i) for i in (pair.left, pair.right))
        middle = (left.middle_x + right.middle_x) / 2
        x = mirror_x(window.mirror.points, (left.y + right.y) / 2)
        assert abs(x - middle) <= window.contour.px_per_quarter / 4 + 1e-6


def test_lengths_say_which_way_most_of_their_notes_go() -> None:
    (found,) = ODD.of_kind(Kind.MIRROR)
    what = found.finding.what
    assert isinstance(what, Mirror)
    early = steps(6 + 19, 38)  # two notes of the fall, then the whole climb
    finding = replace(found.finding, what=replace(what, right=early))
    others = [f for f in ODD.findings if f is not found]
    study = replace(ODD, findings=(replace(found, finding=finding), *others))
    plan, layout = plan_of(study), layout_of(playing(study), WIDE)
    _, words = length_marks(plan.windows[1], plan, layout)
    assert [said.text.split()[-1] for said in words] == ["down", "up"]


def test_fold_and_whole_measure_a_mirror_alike() -> None:
    study = palindrome_study()
    told = []
    for name, make in ((SceneName.FOLD, fold_scene), (SceneName.WHOLE, whole_scene)):
        shot = shot_of(study, name, plays=[study.passage.span])
        words = [seen.words.text for seen in words_seen(make(study, shot, WIDE).at_rest())]
        told.append([text for text in words if text.endswith("each way")])
    assert told[0] == told[1]
    assert len(told[0]) == 1


def test_a_mirror_that_comes_back_is_found_again() -> None:
    (found,) = ODD.of_kind(Kind.MIRROR)
    again = replace(found.finding, spans=(steps(6, 38), steps(38, 72)))
    # The second pass holds the climb an eighth later: a mirror without that eighth is not there.
    study = replace(ODD, findings=(replace(found, finding=again), *ODD.findings))
    assert [w.mirror is not None for w in plan_of(study).windows] == [False, True, False, False]


@pytest.mark.parametrize("of", sorted({"rhythm", "inversion", "weight", "retrograde", "gesture"}))
def test_only_mirrors_that_stand_upright_in_the_contour_are_drawn(of: str) -> None:
    study = mirrored_study(of)  # type: ignore[arg-type]
    has_mirror = any(window.mirror is not None for window in plan_of(study).windows)
    assert has_mirror == (of in FOLDABLE)


@studies
def test_the_ray_rests_on_each_note_long_enough_to_be_followed(
    make: Callable[[], Study],
) -> None:
    study = make()
    shot = playing(study)
    targets = targets_of(study.passage, shot, voices_of(study, shot))
    assert targets
    for before, after in pairwise(targets):
        assert after.start_seconds - before.start_seconds >= LEAST_REST_SECONDS - 1e-9
        assert before.end_seconds <= after.start_seconds


def test_a_quick_run_is_read_by_its_beats() -> None:
    shot = playing(ODD)
    (play,) = shot.plays
    notes = ODD.passage.notes
    targets = targets_of(ODD.passage, shot, voices_of(ODD, shot))
    starts = [play.seconds_at(n.onset_quarters) for n in notes]
    quick = [
        t.note for t in targets if any(0 < t.start_seconds - s < LEAST_REST_SECONDS for s in starts)
    ]
    for index in quick:
        onset = notes[index].onset_quarters
        bar = ODD.passage.bar_at(onset)
        units = (onset - bar.start_quarters) / bar.metre.unit_quarters
        before = [
            n for n in notes if n.onset_quarters < onset and n.index in voices_of(ODD, shot).lead
        ]
        if before and play.seconds_at(onset) - play.seconds_at(before[-1].onset_quarters) < 1 / 3:
            groups = bar.metre.groups
            starts_group = units in {sum(groups[:i]) for i in range(len(groups))}
            assert starts_group or (len(groups) == 1 and units.denominator == 1)


def test_what_is_read_is_known_at_every_moment() -> None:
    shot = playing(ODD)
    targets = targets_of(ODD.passage, shot, voices_of(ODD, shot))
    assert target_at(targets, -1.0) is None
    for i, target in enumerate(targets):
        assert target_at(targets, target.start_seconds) == i
    assert target_at(targets, targets[-1].end_seconds + 1.0) is None


def test_the_ray_goes_from_note_to_note_and_arrives() -> None:
    plan = plan_of(ODD)
    shot = playing(ODD)
    voices = voices_of(ODD, shot)
    window, row = plan.rows[1]
    one, other = [p.note.index for p in window.contour.lead()][:2]
    start = stations_of(one, window, row, plan, voices)
    end = stations_of(other, window, row, plan, voices)
    way = [on_the_way(start, end, share) for share in (0.0, 1.0)]
    assert None not in way
    drawn = [ray_marks(place, 30.0)[0] for place in way if place is not None]
    assert drawn == [ray_marks(start, 30.0)[0], ray_marks(end, 30.0)[0]]


@pytest.mark.parametrize("page", [WIDE, TALL], ids=["wide", "tall"])
@studies
def test_the_ray_goes_between_the_names_of_the_clock(make: Callable[[], Study], page: Page) -> None:
    """From its bend at the panel's edge it reaches each point and strikes no name through."""
    study = make()
    shot = playing(study)
    voices, layout = voices_of(study, shot), layout_of(shot, page)
    plan = plan_whole(study, shot, voices, layout)
    names = boxes_of_words(panel_marks(plan, subject_of(study, shot, voices), layout))
    for window, row in plan.rows:
        for placed in window.contour.lead():
            at = stations_of(placed.note.index, window, row, plan, voices, names=names)
            way = (at.edge, at.gate, at.clock)
            assert line_around(way, names) == line_around(way, ())


@pytest.mark.parametrize("page", [WIDE, TALL], ids=["wide", "tall"])
def test_a_plumb_line_aslant_goes_past_words(page: Page) -> None:
    """It is bent round the words of the lengths, and not cut in two by them."""
    shot = playing(ODD)
    voices, layout = voices_of(ODD, shot), layout_of(shot, page)
    plan = plan_whole(ODD, shot, voices, layout)
    bent = 0
    for window, row in plan.rows:
        words = boxes_of_words(length_marks(window, plan, layout)[1])
        for placed in window.contour.lead():
            at = stations_of(placed.note.index, window, row, plan, voices, words=words)
            if not at.elbow or at.elbow[0][0] == at.elbow[-1][0]:
                continue
            ends = (at.elbow[0], at.elbow[-1])
            if any(all(box.left <= x <= box.right for x, _ in ends) for box in words):
                continue  # it goes on behind a word that both ends lie over
            bent += line_around(ends, words) != line_around(ends, ())
            assert line_around(at.elbow, words) == line_around(at.elbow, ())
    assert bent


def in_six_eight(steps_struck: list[int], quarters_per_minute: float) -> Study:
    """Notes on one string at some sixteenths, each until the next, in 6/8 grouped in threes."""
    lengths = [after - before for before, after in pairwise([*steps_struck, 48])]
    notes = [
        Struck(at, 1, (0, 1, 3, 5)[i % 4], length)
        for i, (at, length) in enumerate(zip(steps_struck, lengths, strict=True))
    ]
    metres = [Metre(groups=(3, 3), unit=8)] * 4
    music = make_passage(notes, SIX, metres, "Six-eight", quarters_per_minute)
    return replace(plain_study(), passage=music, findings=())


def read_in(study: Study) -> list[Note]:
    shot = shot_of(study, SceneName.WHOLE, plays=[study.passage.span])
    targets = targets_of(study.passage, shot, voices_of(study, shot))
    return [study.passage.notes[t.note] for t in targets]


def test_eighths_a_third_of_a_second_apart_are_all_read() -> None:
    assert len(read_in(in_six_eight(list(range(0, 48, 2)), 90.0))) == 24


def test_the_beat_is_read_rather_than_what_comes_just_before_it() -> None:
    study = in_six_eight([1, *range(6, 48, 2)], 140.0)
    beats = {Fraction(3, 2) * i for i in range(1, 8)}
    read = {note.onset_quarters for note in read_in(study)}
    assert beats <= read
    # The lone note has time; an eighth before a beat would have none.
    assert Fraction(1, 4) in read
    crowded = {note.onset_quarters for note in read_in(in_six_eight([5, 6, 12], 90.0))}
    assert crowded == {Fraction(3, 2), Fraction(3)}


def test_the_ray_lands_on_each_note_as_it_sounds() -> None:
    study = ODD
    shot = playing(study)
    voices, plan = voices_of(study, shot), plan_of(study)
    targets = targets_of(study.passage, shot, voices)
    scene = whole_scene(study, shot, WIDE)
    frame = 1 / 30
    seen = visits(shot, [[row.span] for _, row in plan.rows])
    landed = 0
    for before, target in pairwise(targets):
        at = target.start_seconds
        assert before.start_seconds < target.leaves_seconds <= at
        assert at - target.leaves_seconds <= GO_SECONDS + 1e-9
        page = next(v.page for v in seen if at + frame < v.to_seconds)
        if page != plan.row_of(study.passage.notes[target.note]):
            continue  # the next row has been turned to, a little ahead
        window, row = plan.rows[page]
        there = stations_of(target.note, window, row, plan, voices)
        assert ray_marks(there, row.fret_size)[0] in scene.at(at + frame)
        if target.leaves_seconds < at:
            landed += 1
            assert target.way_share(target.leaves_seconds) == 0.0
            assert target.way_share(at - frame) > 0.9
    assert landed > 5


def test_the_readout_says_what_the_note_is_to_mirror_drone_or_set() -> None:
    shot = playing(ODD)
    voices = voices_of(ODD, shot)
    subject = subject_of(ODD, shot, voices)
    plan = plan_of(ODD)
    window = plan.windows[1]
    assert window.mirror is not None
    missed = next(p for p in window.mirror.partners.values() if p.semitones_off)
    said = readout_of(missed.right, window, voices, subject)
    assert " for " in said.heading
    assert said.detail.endswith(("higher", "lower"))
    over = next(
        p.note.index for p in window.contour.lead() if p.note.index not in window.mirror.partners
    )
    coloured = readout_of(over, window, voices, subject)
    assert " over D" in coloured.heading
    assert coloured.semitones is not None
    tag = plan.windows[0]
    plain = readout_of(tag.contour.lead()[0].note.index, tag, voices, subject)
    assert plain.semitones is None


def test_without_a_ringing_string_the_readout_tells_the_height_over_the_lowest_one() -> None:
    """E and B over a low E: octave and fifth (common practice)."""
    notes = [Struck(0, 6, 0, 2), Struck(2, 5, 2, 2), Struck(4, 4, 2, 2), Struck(6, 6, 0, 2)]
    tuning = Tuning(open_pitches=(40, 45, 50, 55, 59, 64))
    music = make_passage(notes, tuning, [Metre(groups=(2,), unit=4)], "Two steps", 90.0)
    study = replace(plain_study(), passage=music, findings=())
    shot = playing(study)
    voices = voices_of(study, shot)
    subject = subject_of(study, shot, voices)
    (window,) = plan_of(study).windows
    said = [readout_of(i, window, voices, subject) for i in range(3)]
    assert [(one.heading, one.detail) for one in said] == [
        ("E", "lowest string"),
        ("B over E", "fifth"),
        ("E over E", "octave"),
    ]


@studies
@pytest.mark.parametrize("look", [DARK, PAPER], ids=lambda look: look.name)
def test_a_critical_eye_finds_nothing_at_rest(make: Callable[[], Study], look: Look) -> None:
    study = make()
    scene = whole_scene(study, shot_of(study, SceneName.WHOLE), WIDE)
    assert faults_of(scene.at_rest(), look, page=WIDE) == ()


@studies
@pytest.mark.parametrize("look", [DARK, PAPER], ids=lambda look: look.name)
@pytest.mark.parametrize("share", [0.0, 0.13, 0.37, 0.61, 0.88, 1.0])
def test_a_critical_eye_finds_nothing_while_it_plays(
    make: Callable[[], Study], share: float, look: Look
) -> None:
    study = make()
    scene = whole_scene(study, playing(study), WIDE)
    assert faults_of(scene.at(share * scene.length_seconds), look, page=WIDE) == ()


def test_a_still_reads_a_note_that_meets_its_partner() -> None:
    study = palindrome_study()
    scene = whole_scene(study, shot_of(study, SceneName.WHOLE), WIDE)
    words = [seen.words.text for seen in words_seen(scene.at_rest())]
    assert "mirror" in words
    assert any(text.startswith("bar") for text in words)


def test_the_row_that_sounds_is_seen_and_told() -> None:
    shot = playing(ODD)
    scene = whole_scene(ODD, shot, WIDE)
    (play,) = shot.plays

    def place_at(quarters: Fraction) -> str:
        seen = words_seen(scene.at(play.seconds_at(quarters) + 0.3))
        return next(s.words.text for s in seen if "bar" in s.words.text)

    assert place_at(Fraction(1, 2)) == "tag, bar 1"
    assert place_at(Fraction(3)).startswith("pass 1, bar")
    assert place_at(Fraction(40, 4)).startswith("pass 2, bar")
