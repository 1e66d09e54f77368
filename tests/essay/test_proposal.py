"""Proposed claims: what is chosen, in which order, and in which words."""

from collections.abc import Sequence
from dataclasses import replace
from fractions import Fraction
from itertools import permutations
from typing import Literal, get_args

import pytest
from hypothesis import given
from hypothesis import strategies as st
from tests.publish_fakes import small_study, small_whats, weighed

from riffract.analysis.finding import (
    Edit,
    How,
    Kind,
    MetreAnswer,
    Mirror,
    MirrorOf,
    Motive,
    Pass,
    Passes,
    Sonority,
    What,
)
from riffract.analysis.mirrors.finding import VOICES
from riffract.analysis.what.motive import Family, Stage
from riffract.essay.claims import Claim, claims_text, read_claims
from riffract.essay.proposals.proposal import MOST_CLAIMS, proposed_claims
from riffract.essay.proposals.suggested_claim import suggested_claim
from riffract.essay.scene_fit import SHOWN_SCENES
from riffract.essay.shots import SceneName
from riffract.music import Span
from riffract.weighing.study import Study, Verdict, WeighedFinding

MEASURES = {
    "pairs": 8.0,
    "pairs_agree": 7.0,
    "semitone_share": 0.26,
    "semitone_emphasis": 2.9,
    "minor_third_share": 0.1,
    "minor_third_emphasis": 1.1,
    "pcs_above": 11.0,
}
PASSAGE = small_study().passage


def solid(
    kind: Kind,
    what: What | None = None,
    *,
    spans: Sequence[Span] = (),
    q: float = 0.001,
    verdict: Verdict = Verdict.FIRM,
    **measures: float,
) -> WeighedFinding:
    found = weighed(kind)
    finding = replace(
        found.finding,
        what=what or small_whats()[kind],
        spans=tuple(spans) or found.finding.spans,
        measures={**MEASURES, **measures},
    )
    return replace(found, finding=finding, verdict=verdict, q=q)


def study_of(*findings: WeighedFinding) -> Study:
    return Study(passage=PASSAGE, findings=findings, ignored=(), seed=1)


def span(start: int, end: int) -> Span:
    return Span(Fraction(start), Fraction(end))


def mirror(of: MirrorOf, left: Span, right: Span, scale: float = 1.0) -> Mirror:
    what = small_whats()[Kind.MIRROR]
    assert isinstance(what, Mirror)
    voice = "the lowest open string" if of == "weight" else what.voice
    axis = right.start_quarters
    return replace(
        what, of=of, voice=voice, left=left, right=right, axis_quarters=axis, scale=scale
    )


def claim_of(found: WeighedFinding) -> Claim:
    return suggested_claim(found, PASSAGE, opening=PASSAGE.span)


def scenes(claims: Sequence[Claim]) -> list[SceneName]:
    return [claim.scene for claim in claims]


@pytest.mark.parametrize(
    ("kind", "scene"),
    [
        (Kind.GESTURE, SceneName.PAGE),
        (Kind.PASSES, SceneName.STACK),
        (Kind.MIRROR, SceneName.FOLD),
        (Kind.SONORITY, SceneName.CLOCK),
        (Kind.COLLECTION_CHANGE, SceneName.CLOCK),
        (Kind.COLLECTION, SceneName.CLOCK),
        (Kind.DRONE, SceneName.THREAD),
        (Kind.ANCHOR, SceneName.CLOCK),
        (Kind.METRE, SceneName.METRE),
        (Kind.MOTIVE, SceneName.PAGE),
        (Kind.PATTERN, SceneName.PAGE),
        (Kind.HAND, SceneName.HAND),
    ],
)
@pytest.mark.parametrize("verdict", [Verdict.FIRM, Verdict.LIKELY])
def test_every_question_with_a_solid_answer_becomes_a_claim(kind, scene, verdict):
    found = solid(kind, verdict=verdict)
    told, whole = proposed_claims(study_of(found))
    assert (told.finding, told.scene) == (found, scene)
    assert whole.scene is SceneName.WHOLE


@pytest.mark.parametrize("of", get_args(MirrorOf))
def test_every_kind_of_mirror_becomes_a_claim(of):
    found = solid(Kind.MIRROR, mirror(of, span(0, 3), span(3, 6)))
    assert proposed_claims(study_of(found))[0].finding == found


def test_claims_come_in_the_order_of_listening_and_stay_few():
    claims = proposed_claims(study_of(*(solid(kind) for kind in reversed(Kind))))
    assert len(claims) == MOST_CLAIMS
    order = [claim.finding.finding.kind for claim in claims[:-1] if claim.finding is not None]
    assert order == sorted(
        order, key=[Kind.GESTURE, Kind.PASSES, Kind.MIRROR, Kind.SONORITY, *Kind].index
    )


WITHOUT_A_PICTURE = {Kind.METRE, Kind.MOTIVE, Kind.PATTERN, Kind.HAND}


def test_what_has_a_picture_of_its_own_comes_first():
    claims = proposed_claims(study_of(*map(solid, Kind)))
    told = {claim.finding.finding.kind for claim in claims if claim.finding is not None}
    assert not told & WITHOUT_A_PICTURE


@given(st.permutations([k for k in Kind if k not in WITHOUT_A_PICTURE]), st.data())
def test_what_is_left_out_is_weaker_than_all_that_is_told(kinds, data):
    qs = data.draw(st.lists(st.floats(1e-9, 0.05), min_size=8, max_size=8))
    found = [solid(kind, q=q) for kind, q in zip(kinds, qs, strict=True)]
    claims = proposed_claims(study_of(*found))[:-1]
    told = [claim.finding for claim in claims if claim.finding is not None]
    # A change shows both collections, so these are one question.
    left = [f for f in found if f not in told and f.finding.kind is not Kind.COLLECTION]
    assert max(f.q or 0.0 for f in told) <= min((f.q or 0.0 for f in left), default=1.0)


def test_what_is_not_solid_is_never_told():
    weak = [
        solid(kind, verdict=verdict)
        for kind in Kind
        for verdict in (Verdict.SUGGESTIVE, Verdict.NOT_BEYOND_CHANCE, Verdict.TRIVIAL)
    ]
    (claim,) = proposed_claims(study_of(*weak))
    assert claim.finding is None
    assert claim.lines[0] == "Nothing in it is sure enough to be claimed."


def test_a_passage_with_nothing_at_all_says_so():
    (claim,) = proposed_claims(study_of())
    assert claim.lines[0] == "Nothing in it goes beyond what chance would do."


def told_by(*findings: WeighedFinding) -> list[WeighedFinding | None]:
    return [claim.finding for claim in proposed_claims(study_of(*findings))[:-1]]


@pytest.mark.parametrize("kind", Kind)
def test_what_follows_from_another_finding_is_not_told_again(kind):
    cause = solid(Kind.GESTURE, spans=[span(0, 6)])
    follower = solid(kind, spans=[span(6, 12)], q=1e-9)
    linked = replace(follower, follows_from=(cause.finding.id,))
    assert told_by(cause, linked) == [cause]
    assert follower in told_by(cause, follower)


def test_a_figure_that_comes_back_turned_is_folded_as_its_mirror():
    motive = solid(Kind.MOTIVE)
    fold = solid(Kind.MIRROR, mirror("inversion", span(0, 6), span(6, 12)))
    said = replace(fold, follows_from=(motive.finding.id,))
    assert told_by(motive, said) == [said]


def test_a_mirror_of_a_figure_that_another_mirror_tells_is_not_told_again():
    larger = solid(Kind.MIRROR, mirror("inversion", span(0, 4), span(4, 8)))
    motive = replace(solid(Kind.MOTIVE), follows_from=(larger.finding.id,))
    inner = solid(Kind.MIRROR, mirror("inversion", span(8, 10), span(10, 12)))
    assert told_by(larger, motive, replace(inner, follows_from=(motive.finding.id,))) == [larger]


def test_two_riffs_are_both_told_in_order_of_time():
    first = solid(Kind.PASSES, spans=[span(0, 3), span(3, 6)], q=0.002)
    second = solid(Kind.PASSES, spans=[span(6, 9), span(9, 12)], q=0.001)
    claims = proposed_claims(study_of(second, first))
    assert [claim.finding for claim in claims[:-1]] == [first, second]
    assert "the riffs as they come back" in claims[-1].lines[0]


def test_a_second_description_of_the_same_time_is_not_told():
    first = solid(Kind.PASSES, spans=[span(0, 6), span(6, 12)], q=0.001)
    second = solid(Kind.PASSES, spans=[span(0, 3), span(3, 9)], q=0.002)
    assert len(proposed_claims(study_of(first, second))) == 2


def passes(*spans: Span) -> WeighedFinding:
    what = small_whats()[Kind.PASSES]
    assert isinstance(what, Passes)
    statements = tuple(Pass(span=one, edits=(), truncated="none", pairs=((0, 0),)) for one in spans)
    reading = replace(what.readings[0], template=spans[0], passes=statements)
    return solid(Kind.PASSES, replace(what, readings=(reading,)), spans=spans)


def test_a_mirror_within_one_statement_goes_before_one_across_two():
    riff = passes(span(0, 6), span(6, 12))
    across = solid(Kind.MIRROR, mirror("retrograde", span(0, 6), span(6, 12)), pairs=20.0, q=1e-6)
    within = solid(Kind.MIRROR, mirror("inversion", span(0, 3), span(3, 6)), q=0.04)
    claims = proposed_claims(study_of(across, within, riff))
    assert [c.finding for c in claims if c.scene is SceneName.FOLD] == [within]


def test_a_mirror_that_turns_within_a_statement_goes_before_one_that_turns_between():
    riff = passes(span(0, 4), span(4, 8), span(8, 12))
    between = solid(Kind.MIRROR, mirror("retrograde", span(0, 4), span(4, 8)))
    inside = solid(Kind.MIRROR, mirror("retrograde", span(2, 6), span(6, 10)))
    claims = proposed_claims(study_of(between, inside, riff))
    assert [c.finding for c in claims if c.scene is SceneName.FOLD] == [inside]


def test_a_mirror_across_statements_is_left_out_however_little_it_shares_with_one_within():
    riff = passes(span(0, 2), span(2, 4), span(4, 6), span(6, 8), span(8, 10))
    across = solid(Kind.MIRROR, mirror("retrograde", span(0, 4), span(4, 8)), q=1e-6)
    within = solid(Kind.MIRROR, mirror("rhythm", span(8, 9), span(9, 10)))
    claims = proposed_claims(study_of(across, within, riff))
    assert [c.finding for c in claims if c.scene is SceneName.FOLD] == [within]


def test_without_a_riff_a_mirror_of_pitch_goes_before_one_of_rhythm():
    rhythm = solid(Kind.MIRROR, mirror("rhythm", span(0, 6), span(6, 12)), q=1e-6)
    pitch = solid(Kind.MIRROR, mirror("retrograde", span(0, 6), span(6, 12)))
    told, _ = proposed_claims(study_of(rhythm, pitch))
    assert told.finding == pitch
    assert told.lines[-1] == "The rhythm turns back at the same point."


def test_a_rhythm_that_turns_elsewhere_is_told_for_itself():
    rhythm = solid(Kind.MIRROR, mirror("rhythm", span(0, 5), span(5, 10)))
    pitch = solid(Kind.MIRROR, mirror("retrograde", span(0, 6), span(6, 12)))
    claims = proposed_claims(study_of(rhythm, pitch))
    assert {c.finding.finding.id for c in claims if c.finding is not None} == {
        rhythm.finding.id,
        pitch.finding.id,
    }


UPSIDE_DOWN = {"inversion", "retrograde_inversion"}


@pytest.mark.parametrize("of", get_args(MirrorOf))
def test_a_mirror_is_said_to_be_what_it_is(of):
    claim = claim_of(solid(Kind.MIRROR, mirror(of, span(0, 3), span(3, 6))))
    words = " ".join(claim.lines)
    assert ("upside down" in words) == (of in UPSIDE_DOWN)
    # An inversion goes the same way in time: nothing turns back.
    assert not (of == "inversion" and ("turning point" in words or "revers" in words))
    assert ("meet in pitch" in words) == (of not in {"rhythm", "weight", "passes"})
    assert ("rhythm" in words) == (of == "rhythm")
    assert ("low string" in words) == (of == "weight")
    assert ("answers" in words) == (of == "gesture")


def test_a_mirror_counts_its_pairs_in_words():
    exact = claim_of(solid(Kind.MIRROR, pairs=8.0, pairs_agree=8.0))
    bent = claim_of(solid(Kind.MIRROR, pairs=12.0, pairs_agree=10.0))
    assert exact.lines[-1] == "All eight pairs meet in pitch."
    assert bent.lines[-1] == "Ten of 12 pairs meet in pitch; two miss."


@pytest.mark.parametrize(
    ("of", "scale", "said"),
    [
        ("retrograde", 1.0, "this mirror is straight"),
        ("retrograde", 1.5, "draw it in"),  # time runs longer on the left, so its image shrinks
        ("retrograde", 0.5, "draw it out"),
        ("gesture", 1.5, "bend the mirror"),
    ],
)
def test_a_fold_says_what_is_done_about_another_pace(of, scale, said):
    claim = claim_of(solid(Kind.MIRROR, mirror(of, span(0, 3), span(3, 6), scale)))
    assert said in claim.lines[1]


def test_a_mirror_is_played_slowly_only_if_all_of_it_fits():
    claim = claim_of(solid(Kind.MIRROR, mirror("retrograde", span(0, 3), span(3, 6))))
    slow, whole = claim.excerpts
    assert (slow.speed, whole.speed) == (0.6, 1.0)
    assert slow.span == whole.span
    assert whole.span.start_quarters <= 0
    assert whole.span.end_quarters >= 6


def sonority(how: How, *pcs: tuple[int, ...]) -> Sonority:
    what = small_whats()[Kind.SONORITY]
    assert isinstance(what, Sonority)
    spans = tuple(span(i, i + 1) for i in range(len(pcs)))
    return replace(what, how=how, occurrences=spans, occurrence_pcs=pcs)


@pytest.mark.parametrize(
    ("pcs", "said"),
    [
        # From a trichord 016 by hand: itself, a semitone up, and turned over.
        (((0, 1, 6), (0, 1, 6)), "always the same notes"),
        (((0, 1, 6), (1, 2, 7)), "the notes change, the shape stays"),
        (((0, 1, 6), (0, 5, 6)), "some of the time mirrored"),
    ],
)
def test_a_sound_says_how_its_shape_stands(pcs, said):
    claim = claim_of(solid(Kind.SONORITY, sonority("struck", *pcs)))
    assert claim.title == "One chord is struck twice: a semitone and a tritone (016)."
    assert said in claim.lines[1]


def test_of_equally_sure_sounds_the_struck_one_is_told():
    line = solid(Kind.SONORITY, sonority("in_succession", (0, 1, 4), (1, 2, 5)), q=1e-6)
    chord = solid(Kind.SONORITY, sonority("struck", (0, 4, 7), (0, 4, 7)))
    told, _ = proposed_claims(study_of(line, chord))
    assert told.finding == chord


def edit(op: Literal["substitute", "insert", "delete", "shift"]) -> Edit:
    what = small_whats()[Kind.PASSES]
    assert isinstance(what, Passes)
    return replace(what.readings[0].passes[1].edits[0], op=op)


@pytest.mark.parametrize(
    ("second", "third", "said"),
    [
        (["insert"], [], "The second time, one sound is added."),
        (["delete", "delete"], [], "The second time, two sounds are missing."),
        (["shift"], ["substitute"], "The second time, one sound has another length; the third "),
        (["shift"], ["shift"], "The second and third time, one sound has another length."),
    ],
)
def test_a_stack_says_what_departs(second, third, said):
    riff = passes(span(0, 4), span(4, 8), span(8, 12))
    what = riff.finding.what
    assert isinstance(what, Passes)
    first, *others = what.readings[0].passes
    edited = [
        replace(one, edits=tuple(map(edit, ops)))
        for one, ops in zip(others, (second, third), strict=True)
    ]
    reading = replace(what.readings[0], passes=(first, *edited))
    claim = claim_of(solid(Kind.PASSES, replace(what, readings=(reading,))))
    assert claim.lines[-1].startswith(said)


def test_an_anchor_names_the_interval_that_stands_out_and_its_even_share():
    claim = claim_of(solid(Kind.ANCHOR))
    assert claim.title == "Above the open low string, the semitone stands out."
    assert "26 %" in claim.lines[1]
    assert "9 %" in claim.lines[1]  # one of eleven pitch classes


def test_the_whole_names_what_was_told_and_shows_its_mirror():
    bent = solid(Kind.MIRROR)
    *_, whole = proposed_claims(study_of(solid(Kind.DRONE), bent))
    assert whole.lines == ("Once more, now with an ear for the mirror and the note that stays.",)
    assert whole.finding == bent


@pytest.mark.parametrize("kinds", list(permutations(list(Kind)[:4], 2)))
def test_proposals_can_be_written_and_read_again(kinds):
    study = study_of(*map(solid, kinds), *map(solid, list(Kind)[4:]))
    claims = proposed_claims(study)
    assert read_claims(claims_text(claims, PASSAGE), PASSAGE, study) == (claims, ())
    assert set(scenes(claims)) <= set(SHOWN_SCENES)
    assert all(claim.lines and claim.excerpts for claim in claims)


def test_a_form_of_two_pairs_is_said_of_both():
    form = mirror("passes", span(0, 3), span(3, 6))
    claim = claim_of(solid(Kind.MIRROR, form, pairs=2.0, pairs_agree=2.0))
    assert claim.lines[-1] == "Both pairs meet."


@pytest.mark.parametrize(
    ("voice", "strokes"),
    [
        ("the lowest open string", "low string"),
        ("the accents", "accents"),
        ("the palm-muted strokes", "muted strokes"),
    ],
)
def test_strokes_that_mirror_are_named_as_the_finding_names_them(voice: str, strokes: str) -> None:
    what = replace(mirror("weight", span(0, 3), span(3, 6)), voice=voice)
    hear, fold, _ = claim_of(solid(Kind.MIRROR, what)).lines
    assert voice in VOICES
    assert f"the {strokes} alone" in hear
    assert f"the {strokes} matter" in fold


@pytest.mark.parametrize(("adds", "said"), [((2,), "watch the idea fill up"), ((), "comes back")])
def test_an_idea_fills_up_only_if_a_stage_adds_to_it(adds, said):
    what = small_whats()[Kind.MOTIVE]
    assert isinstance(what, Motive)
    first = Stage(place=what.source, parent=None, has=(0, 1), adds=(0, 1), loses=())
    back = Stage(place=what.return_, parent=0, has=(0, 1, *adds), adds=adds, loses=())
    family = Family(number=1, stages=(first, back), home=0)
    claim = claim_of(solid(Kind.MOTIVE, replace(what, family=family, stage=1)))
    assert said in claim.lines[0]


@pytest.mark.parametrize(
    ("meets_after", "said"),
    [((8, 7), "the beat against the riff"), (None, "the groups of the bar")],
)
def test_a_beat_goes_against_the_riff_only_if_its_passes_shift(meets_after, said):
    what = small_whats()[Kind.METRE]
    assert isinstance(what, MetreAnswer)
    *_, whole = proposed_claims(study_of(solid(Kind.METRE, replace(what, meets_after=meets_after))))
    assert said in whole.lines[0]
