"""Studying a passage: every analysis, and what speaks for and against each finding."""

from collections.abc import Iterable, Mapping, Sequence
from concurrent.futures import ThreadPoolExecutor
from dataclasses import dataclass, replace
from fractions import Fraction
from functools import partial
from typing import Final

import numpy as np

from riffract.analysis.anchor import find_anchor
from riffract.analysis.attacks import (
    anchor_notes,
    attacks_of,
    ignored,
    lead_notes,
    punctuating_anchors,
    with_start_pitches,
)
from riffract.analysis.collection import find_collections
from riffract.analysis.drone import drone_notes, find_drones
from riffract.analysis.finding import (
    Collection,
    CollectionChange,
    Finding,
    Gesture,
    Kind,
    Limb,
    Mirror,
    Passes,
    Reading,
    Sonority,
)
from riffract.analysis.gesture import find_gesture
from riffract.analysis.mirror import find_mirrors
from riffract.analysis.other_readings import rival_texts
from riffract.analysis.palindrome import FURTHEST_PAIRS
from riffract.analysis.passes import find_passes
from riffract.analysis.reordering import Ids, Reordering
from riffract.analysis.sonority import find_sonorities
from riffract.music import Passage
from riffract.weighing.chance import Chance, adjusted_for_many
from riffract.weighing.null_model import DRAWS, MOST_DRAWS, chance_of
from riffract.weighing.questions import SonorityQuestions, emphasis_p, gesture_question
from riffract.weighing.study import Rival, Study, Verdict, WeighedFinding

FIRM_Q: Final = 0.01
LIKELY_Q: Final = 0.05
RIVAL_BITS: Final = 3.0
SMALLEST_P: Final = 1e-12
THREADS: Final = 2
FEWEST_LEAD_NOTES: Final = 3
_ORDER: Final = (Verdict.FIRM, Verdict.LIKELY, Verdict.SUGGESTIVE)


def study_passage(passage: Passage, *, seed: int = 1) -> Study:
    """Study a passage: find, weigh, adjust for all that was looked at.

    Args:
        passage: what to study.
        seed: of every random draw; the same seed gives the same answer.
    """
    weighing = _Weighing(with_start_pitches(passage), seed)
    weighed = weighing.all()
    q_values = _adjusted(weighed)
    # A drawn p value cannot be smaller than one in all draws; where only that stands between a
    # finding and the word "firm", more are drawn.
    doubtful = [w for w, q in zip(weighed, q_values, strict=True) if _needs_more_draws(w, q)]
    if doubtful:
        more = weighing.drawn_on(doubtful)
        weighed = [more.get(w.finding.id, w) for w in weighed]
        q_values = _adjusted(weighed)
    findings = [_judged(w, q) for w, q in zip(weighed, q_values, strict=True)]
    return Study(
        passage=passage,
        findings=tuple(sorted(findings, key=_by_kind_and_verdict)),
        ignored=ignored(passage),
        seed=seed,
    )


def _adjusted(weighed: Sequence["_Weighed"]) -> list[float | None]:
    q_values = iter(adjusted_for_many([w.chance.p for w in weighed if w.chance is not None]))
    return [None if w.chance is None else next(q_values) for w in weighed]


def _needs_more_draws(weighed: "_Weighed", q: float | None) -> bool:
    chance = weighed.chance
    if chance is None or q is None or not FIRM_Q < q <= LIKELY_Q or not weighed.survives:
        return False
    return len(chance.draws) == DRAWS and max(chance.draws) < chance.observed - 1e-9


@dataclass(frozen=True, slots=True, kw_only=True)
class _Weighed:
    """A finding with its chance, before the adjustment for many.

    Attributes:
        finding: what was found.
        chance: how often chance does as well; `None` where no chance is involved.
        log10_bayes: evidence against the null description, if defined.
        rivals: other explanations.
        survives: whether it stands when any one note is left out.
        is_trivial: whether it could not have come out otherwise.
        asked: the rows that the chance was drawn from, if it was.
    """

    finding: Finding
    chance: Chance | None
    log10_bayes: float | None = None
    rivals: tuple[Rival, ...] = ()
    survives: bool = True
    is_trivial: bool = False
    asked: "_Asked | None" = None


@dataclass(frozen=True, slots=True, kw_only=True)
class _Asked:
    """A finding, and the rows to draw random versions of.

    Attributes:
        finding: what was found.
        reorderings: the rows and their statistics; the finding has to stand against all of them.
        is_best: whether the statistics speak of this finding, not of a better one in the row.
    """

    finding: Finding
    reorderings: tuple[Reordering, ...]
    is_best: bool = True


def _weighed_draw(asked: _Asked, chance_of_row: Mapping[Reordering, Chance]) -> _Weighed | None:
    """Weigh a finding by its draws; a lesser one of its row is dropped if chance does as well.

    Of several null models the one that does best against the finding counts.
    """
    bits = asked.finding.measures.get("bits")
    chances = [chance_of_row[row] for row in asked.reorderings if row in chance_of_row]
    if not asked.is_best and bits is not None:
        # The draws are the best of all places, so a lesser one pays for the looking as well.
        chances = [replace(chance, observed=round(bits, 3)) for chance in chances]
    chance = max(chances, key=lambda c: c.p)
    if not asked.is_best and chance.p > LIKELY_Q:
        return None
    weighs = max(row.one_note_weighs for row in asked.reorderings)
    return _Weighed(
        finding=asked.finding,
        chance=chance,
        log10_bayes=None if bits is None else bits * np.log10(2.0),
        survives=_survives(chance, weighs),
        is_trivial=_is_trivial(chance),
        asked=asked,
    )


class _Weighing:
    """All findings of one passage, each with its chance."""

    def __init__(self, passage: Passage, seed: int) -> None:
        self._passage = passage
        self._seed = seed
        self._attacks = attacks_of(passage)
        self._drones = find_drones(passage, self._attacks)
        self._drone_notes = drone_notes(self._drones)
        self._anchors = anchor_notes(passage)
        self._lead = self._chosen_lead()
        self._passes = find_passes(passage, self._attacks)
        self._readings = _best_readings(self._passes)
        pass_starts = [one.span.start_quarters for r in self._readings for one in r.passes]
        self._gestures = find_gesture(passage, self._attacks, self._lead, pass_starts)

    def all(self) -> list[_Weighed]:
        """Weigh everything, in the order of the kinds."""
        return [
            *self._weighed_passes(),
            *self._weighed_by_drawing(),
            *self._weighed_collections(),
            *self._weighed_drones(),
            *self._weighed_anchors(),
        ]

    def _chosen_lead(self) -> tuple[int, ...]:
        """The moving voice without what rings and what anchors; with the anchor if that is all."""
        still = self._drone_notes | punctuating_anchors(self._passage, self._attacks)
        lead = lead_notes(self._passage.notes, self._attacks, without=still)
        if len(lead) >= FEWEST_LEAD_NOTES:
            return lead
        return lead_notes(self._passage.notes, self._attacks, without=self._drone_notes)

    @property
    def _lead_ids(self) -> Ids:
        return np.array(self._lead, dtype=np.int64)

    @property
    def _limbs(self) -> tuple[Limb, ...]:
        return tuple(
            limb for g in self._gestures if isinstance(g.what, Gesture) for limb in g.what.limbs
        )

    @property
    def _template_attacks(self) -> int:
        """How many attacks the longest riff has; 0 if none comes back."""
        templates = [r.template for r in self._readings]
        return max(
            (sum(t.holds(a.onset_quarters) for a in self._attacks) for t in templates), default=0
        )

    @property
    def _boundaries(self) -> tuple[Fraction, ...]:
        """Where a scale may well change: limbs, passes and sections start there."""
        starts = {limb.span.start_quarters for limb in self._limbs}
        starts |= {span.start_quarters for f in self._passes for span in f.spans}
        starts |= {section.span.start_quarters for section in self._passage.sections}
        return tuple(sorted(starts))

    def _exact(self, p: float, observed: float, model: str) -> Chance:
        return Chance(
            observed=observed, draws=(), model=model, seed=self._seed, exact_p=max(p, SMALLEST_P)
        )

    def _weighed_passes(self) -> list[_Weighed]:
        """A code of its own null model shortens a passage by k bits with chance 2^-k at most."""
        weighed = []
        for found in self._passes:
            saved = found.measures["saved_bits"]
            model = "attacks drawn one by one from the passage's own"
            one_attack = found.measures["plain_bits"] / len(self._attacks)
            weighed.append(
                _Weighed(
                    finding=found,
                    chance=self._exact(min(2.0**-saved, 1.0), saved, model),
                    log10_bayes=saved * np.log10(2.0),
                    rivals=tuple(_other_readings(found, self._passage)),
                    survives=2.0 ** -(saved - 4.0 * one_attack) <= LIKELY_Q,
                )
            )
        return weighed

    def _weighed_by_drawing(self) -> list[_Weighed]:
        """Weigh what is compared with random versions; rows that are asked twice are drawn once."""
        asked = [*self._asked_mirrors(), *self._asked_gestures(), *self._asked_sonorities()]
        chance_of_row = self._drawn(asked, DRAWS)
        weighed = [
            weighed for one in asked if (weighed := _weighed_draw(one, chance_of_row)) is not None
        ]
        return [replace(w, rivals=tuple(_other_mirrors(w, weighed))) for w in weighed]

    def _drawn(self, asked: Iterable[_Asked], most_draws: int) -> dict[Reordering, Chance]:
        rows = list(dict.fromkeys(row for one in asked for row in one.reorderings))
        draw = partial(chance_of, readings=self._readings, seed=self._seed, most_draws=most_draws)
        # Most of the time goes into large array operations, which let other threads run.
        with ThreadPoolExecutor(THREADS) as pool:
            chances = zip(rows, pool.map(draw, rows), strict=True)
            return {row: chance for row, chance in chances if chance is not None}

    def drawn_on(self, doubtful: Sequence[_Weighed]) -> dict[str, _Weighed]:
        """Weigh some findings again, with more draws."""
        asked = [w.asked for w in doubtful if w.asked is not None]
        chance_of_row = self._drawn(asked, MOST_DRAWS)
        again = [(w, _weighed_draw(w.asked, chance_of_row)) for w in doubtful if w.asked]
        return {w.finding.id: replace(new, rivals=w.rivals) for w, new in again if new is not None}

    def _asked_mirrors(self) -> list[_Asked]:
        gesture = next((g.what for g in self._gestures if isinstance(g.what, Gesture)), None)
        mirrors = find_mirrors(
            self._passage,
            self._attacks,
            self._lead,
            anchors=self._anchors,
            gesture=gesture,
            furthest_pairs=self._template_attacks or FURTHEST_PAIRS,
        )
        rows = [mirror.reorderings for mirror in mirrors]
        return [
            _Asked(
                finding=mirror.finding,
                reorderings=mirror.reorderings,
                is_best=rows.index(mirror.reorderings) == place,
            )
            for place, mirror in enumerate(mirrors)
        ]

    def _asked_gestures(self) -> list[_Asked]:
        question = gesture_question(self._passage, self._attacks, self._lead_ids)
        return [_Asked(finding=found, reorderings=(question,)) for found in self._gestures]

    def _asked_sonorities(self) -> list[_Asked]:
        found = find_sonorities(self._passage, self._attacks, self._limbs)
        questions = SonorityQuestions(self._passage, self._attacks, self._lead_ids)
        return [
            _Asked(finding=one, reorderings=questions.of(one.what))
            for one in found
            if isinstance(one.what, Sonority)
        ]

    def _weighed_collections(self) -> list[_Weighed]:
        found = find_collections(
            self._passage, self._attacks, self._lead, self._drone_notes, self._boundaries
        )
        p_of_form: dict[str, float] = {}
        survives: dict[str, bool] = {}
        weighed = []
        for one in found:
            if isinstance(one.what, Collection):
                p = one.measures["exact_p"]
                p_of_form.setdefault(one.what.form, p)
                survives.setdefault(one.what.form, _each_member_twice(one, one.what, self._passage))
                weighed.append(
                    _Weighed(
                        finding=one,
                        chance=self._exact(p, one.measures["log10_bayes"], _ANY_PCS),
                        log10_bayes=one.measures["log10_bayes"],
                        rivals=_other_forms(one.measures),
                        survives=survives[one.what.form],
                    )
                )
        for one in found:
            if isinstance(one.what, CollectionChange):
                forms = (one.what.from_form, one.what.to_form)
                p = max(p_of_form.get(form, 1.0) for form in forms)
                weighed.append(
                    _Weighed(
                        finding=one,
                        chance=self._exact(p, 0.0, f"{_ANY_PCS}, for both forms"),
                        survives=all(survives.get(form, False) for form in forms),
                    )
                )
        return weighed

    def _weighed_drones(self) -> list[_Weighed]:
        model = "every string leaves its pitch at an attack with one and the same chance"
        return [
            _Weighed(
                finding=found,
                chance=self._exact(
                    found.measures["chance_p"], found.measures["longest_hold_attacks"], model
                ),
                survives=found.measures["strikes"] > 1,
            )
            for found in self._drones
        ]

    def _weighed_anchors(self) -> list[_Weighed]:
        model = "each pitch class of the moving voice as likely, the riff counted once"
        weighed = []
        for found in find_anchor(self._passage, self._attacks):
            p, p_without_one = (
                emphasis_p(
                    found, self._passage, self._lead_ids, self._readings, notes_left_out=left_out
                )
                for left_out in (0, 1)
            )
            weighed.append(
                _Weighed(
                    finding=found,
                    chance=self._exact(p, 0.0, model),
                    survives=p_without_one <= LIKELY_Q,
                )
            )
        return weighed


_ANY_PCS: Final = "as many different pitch classes, any set of them as likely"


def _best_readings(passes: Sequence[Finding]) -> tuple[Reading, ...]:
    return tuple(p.what.readings[0] for p in passes if isinstance(p.what, Passes))


def _survives(chance: Chance, one_note_weighs: float) -> bool:
    """Whether the statistic would still beat 19 in 20 draws with one note's share taken off."""
    if not chance.draws:
        return True
    return chance.observed - one_note_weighs >= float(np.quantile(chance.draws, 0.95))


def _is_trivial(chance: Chance) -> bool:
    """Whether every random version comes out the same: it could not have done otherwise."""
    return bool(chance.draws) and all(abs(d - chance.observed) < 1e-6 for d in chance.draws)


def _other_readings(found: Finding, passage: Passage) -> list[Rival]:
    if not isinstance(found.what, Passes):
        return []
    best, *others = found.what.readings
    return [
        Rival(
            description=text,
            bits=round(r.bits - best.bits, 6),
        )
        for r, text in zip(others, rival_texts(passage, found.what.readings), strict=True)
    ]


def _other_mirrors(one: _Weighed, mirrors: Sequence[_Weighed]) -> list[Rival]:
    """Mirrors of other kinds over the same stretch, where both are measured in bits."""
    if not isinstance(one.finding.what, Mirror):
        return list(one.rivals)
    here = one.finding.spans[0]
    rivals = []
    for other in mirrors:
        both = "bits" in one.finding.measures and "bits" in other.finding.measures
        if other is one or not both or not isinstance(other.finding.what, Mirror):
            continue
        shared = max(here.overlap_quarters(span) for span in other.finding.spans)
        if 2 * shared >= here.length_quarters:
            behind = one.finding.measures["bits"] - other.finding.measures["bits"]
            rivals.append(Rival(description=other.finding.id, bits=round(behind, 6)))
    return sorted(rivals, key=lambda rival: rival.bits)


def _other_forms(measures: Mapping[str, float]) -> tuple[Rival, ...]:
    prefix = "bits_ahead_of_"
    rivals = [
        Rival(description=name.removeprefix(prefix), bits=round(bits, 6))
        for name, bits in measures.items()
        if name.startswith(prefix)
    ]
    return tuple(sorted(rivals, key=lambda rival: rival.bits))


def _each_member_twice(found: Finding, what: Collection, passage: Passage) -> bool:
    """Whether every member that occurs is borne out by two notes or more."""
    pcs = (passage.notes.pitch[np.array(found.notes, dtype=np.int64)] % 12).tolist()
    return all(pcs.count(pc) != 1 for pc in what.pcs)


def _judged(weighed: _Weighed, q: float | None) -> WeighedFinding:
    return WeighedFinding(
        finding=weighed.finding,
        verdict=_verdict(weighed, q),
        chance=weighed.chance,
        q=q,
        log10_bayes=weighed.log10_bayes,
        rivals=weighed.rivals,
    )


def _verdict(weighed: _Weighed, q: float | None) -> Verdict:
    if weighed.is_trivial or q is None or weighed.chance is None:
        return Verdict.TRIVIAL
    contested = _has_close_rival(weighed)
    if q <= FIRM_Q and weighed.survives and not contested:
        return Verdict.FIRM
    if q <= LIKELY_Q:
        return Verdict.LIKELY
    return Verdict.SUGGESTIVE if weighed.chance.p <= LIKELY_Q else Verdict.NOT_BEYOND_CHANCE


def _has_close_rival(weighed: _Weighed) -> bool:
    """Whether another explanation of the same kind comes close.

    Mirrors of two kinds over one stretch do not contradict one another, so they only inform.
    """
    if weighed.finding.kind is Kind.MIRROR:
        return False
    return any(rival.bits < RIVAL_BITS for rival in weighed.rivals)


def _by_kind_and_verdict(weighed: WeighedFinding) -> tuple[int, int, float]:
    rank = _ORDER.index(weighed.verdict) if weighed.verdict in _ORDER else len(_ORDER)
    p = 1.0 if weighed.chance is None else weighed.chance.p
    return list(Kind).index(weighed.finding.kind), rank, p
