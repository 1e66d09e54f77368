"""Studying a passage: every analysis, and what speaks for and against each finding."""

from collections.abc import Sequence
from typing import Final

from riffract.analysis.attacks import ignored
from riffract.analysis.finding import Kind
from riffract.analysis.hand.find import left_out_of_hand
from riffract.analysis.passes.find import left_out_of_passes
from riffract.analysis.saying import language
from riffract.analysis.too_little import too_little
from riffract.music import Passage
from riffract.weighing.chance import TIE
from riffract.weighing.contradictions import with_contradictions
from riffract.weighing.drawing import drawn_on, weighed_by_drawing
from riffract.weighing.followers import with_followers
from riffract.weighing.fragility import tried_without_each_note
from riffract.weighing.of_anchors import weighed_anchors
from riffract.weighing.of_collections import weighed_collections
from riffract.weighing.of_drones import weighed_drones
from riffract.weighing.of_gestures import asked_gestures
from riffract.weighing.of_hand import weighed_hand
from riffract.weighing.of_metre import weighed_metre
from riffract.weighing.of_mirrors import asked_mirrors, counted_mirrors, with_other_mirrors
from riffract.weighing.of_motives import motives_ignored, weighed_motives
from riffract.weighing.of_passes import weighed_passes
from riffract.weighing.of_patterns import weighed_patterns
from riffract.weighing.of_sonorities import asked_sonorities, weighed_intervals
from riffract.weighing.sequential import DRAWS, MOST_DRAWS, fewer_versions, most_draws_for
from riffract.weighing.study import Study, Verdict, WeighedFinding
from riffract.weighing.verdict import FIRM_Q, LIKELY_Q, adjusted, all_asked, judged
from riffract.weighing.view import View, view_of
from riffract.weighing.weighed import Weighed

_ORDER: Final = (Verdict.FIRM, Verdict.LIKELY, Verdict.SUGGESTIVE)


def study_passage(passage: Passage, *, seed: int = 1, earlier: Sequence[Passage] = ()) -> Study:
    """Study a passage: find, weigh, adjust for all that was looked at.

    Its sentences are in the language that things are said in here and now (`said_in`).

    Args:
        passage: what to study.
        seed: of every random draw; the same seed gives the same answer.
        earlier: passages that it may grow out of, the earliest first.
    """
    view = view_of(passage, seed=seed, earlier=earlier)
    weighed = _weighed(view)
    q_values = adjusted(weighed)
    # A drawn p value cannot be smaller than one in all draws; where only that stands between a
    # finding and the word "firm", more are drawn.
    doubtful = [w for w, q in zip(weighed, q_values, strict=True) if _needs_more_draws(w, q)]
    if doubtful:
        more = drawn_on(doubtful, readings=view.readings, seed=seed)
        weighed = [more.get(w.finding.id, w) for w in weighed]
        q_values = adjusted(weighed)
    findings = [
        judged(_tried(w, q, view), q) for w, q in zip(weighed, q_values, strict=True) if w.is_told
    ]
    return Study(
        passage=passage,
        findings=with_followers(view.passage, sorted(findings, key=_by_kind_and_verdict)),
        ignored=(
            *too_little(view.passage, view.attacks),
            *left_out_of_passes(view.attacks),
            *left_out_of_hand(passage),
            *ignored(passage),
            *fewer_versions(len(view.attacks)),
            *motives_ignored(view),
        ),
        seed=seed,
        asked=len(all_asked(weighed)),
        earlier=tuple(earlier),
        language=language(),
    )


def _weighed(view: View) -> list[Weighed]:
    """Weigh everything, in the order of the kinds."""
    asked = [*asked_mirrors(view), *asked_gestures(view), *asked_sonorities(view)]
    drawn = weighed_by_drawing(asked, readings=view.readings, seed=view.seed)
    told = [w for w in drawn if w.is_told]
    scales = weighed_collections(view)
    found = [
        *weighed_passes(view),
        *with_other_mirrors(view, [*told, *counted_mirrors(view)]),
        *(w for w in drawn if not w.is_told),
        *weighed_intervals(view),
        *scales,
        *weighed_drones(view),
        *weighed_anchors(view, [w.finding for w in scales]),
        *weighed_motives(view),
        *weighed_patterns(view),
        *weighed_hand(view),
        *weighed_metre(view),
    ]
    return with_contradictions(found)


def _needs_more_draws(weighed: Weighed, q: float | None) -> bool:
    chance, row = weighed.chance, weighed.row
    if chance is None or row is None or q is None or not FIRM_Q < q <= LIKELY_Q:
        return False
    if most_draws_for(len(row.items), MOST_DRAWS) <= DRAWS:
        return False
    return len(chance.draws) == DRAWS and max(chance.draws) < chance.observed - TIE


def _tried(weighed: Weighed, q: float | None, view: View) -> Weighed:
    """Try whether a finding stands without each of its notes, if it stands with them."""
    if q is None or q > LIKELY_Q:
        return weighed
    return tried_without_each_note(weighed, q, view.attacks)


def _by_kind_and_verdict(weighed: WeighedFinding) -> tuple[int, int, float]:
    rank = _ORDER.index(weighed.verdict) if weighed.verdict in _ORDER else len(_ORDER)
    p = 1.0 if weighed.chance is None else weighed.chance.p
    return list(Kind).index(weighed.finding.kind), rank, p
