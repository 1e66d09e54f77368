"""Claims that the findings themselves suggest, in an order that a listener can follow.

Shape first, which anyone can hear; then what comes back and what bends it; then harmony from
surface to depth; then the instrument's part; then the whole. Only solid findings are proposed,
and of those one a question before a second one; what follows from another finding is not told
twice. The analyst may take others, in any order and words.
"""

from collections import Counter
from collections.abc import Mapping, Sequence
from dataclasses import replace
from fractions import Fraction
from types import MappingProxyType
from typing import Final

from riffract.analysis.finding import Kind, MetreAnswer, Mirror, MirrorOf, Passes, Sonority, What
from riffract.analysis.saying import said_in, say
from riffract.analysis.wording import listed
from riffract.essay.claims import Claim
from riffract.essay.excerpts import excerpt
from riffract.essay.proposals.mirror_claim import mirror_span
from riffract.essay.proposals.suggested_claim import suggested_claim
from riffract.essay.shots import SceneName
from riffract.music import Span
from riffract.weighing.study import Study, Verdict, WeighedFinding

MOST_CLAIMS: Final = 6
"""With the whole passage at the end: a film of two minutes or so."""

WHOLE_SECONDS: Final = 60.0

_ORDER: Final = (
    Kind.GESTURE,
    Kind.PASSES,
    Kind.METRE,
    Kind.MIRROR,
    Kind.MOTIVE,
    Kind.PATTERN,
    Kind.SONORITY,
    Kind.COLLECTION_CHANGE,
    Kind.COLLECTION,
    Kind.DRONE,
    Kind.ANCHOR,
    Kind.HAND,
)

_HEARD_AS: Final[Mapping[Kind, str]] = MappingProxyType(
    {
        Kind.GESTURE: "the shape of the line",
        Kind.PASSES: "the riff as it comes back",
        Kind.MIRROR: "the mirror",
        Kind.SONORITY: "the sound that returns",
        Kind.COLLECTION_CHANGE: "the change of scale",
        Kind.COLLECTION: "the colour of the scale",
        Kind.DRONE: "the note that stays",
        Kind.ANCHOR: "the low string",
        Kind.METRE: "the beat against the riff",
        Kind.MOTIVE: "the idea that returns",
        Kind.PATTERN: "the figure that moves",
        Kind.HAND: "the hand shape that moves",
    }
)

_SEVERAL_HEARD_AS: Final[Mapping[Kind, str]] = MappingProxyType(
    {Kind.PASSES: "the riffs as they come back", Kind.MIRROR: "the mirrors"}
)

_WITHIN_THE_BAR: Final = "the groups of the bar"
"""What is heard of a metre that no riff goes against."""


def proposed_claims(study: Study) -> tuple[Claim, ...]:
    """Propose claims for a passage, in the language of its study.

    Returns:
        At most six, the last of them the whole passage. A passage without a solid finding gets
        one picture of itself, which says so.
    """
    chosen = _chosen(study)
    with said_in(study.language):
        if not chosen:
            return (_bare_page(study),)
        opening = _opening(study)
        told = [suggested_claim(found, study.passage, opening=opening) for found in chosen]
        return (*_with_rhythm(told, study), _whole(study, chosen))


def _chosen(study: Study) -> list[WeighedFinding]:
    """Choose what is told: the best of each question first, then further ones, by strength."""
    pictured = (_gestures, _passes, _mirrors, _sonorities, _scales, _drones, _anchors)
    candidates = [(place, found) for pick in pictured for place, found in enumerate(pick(study))]
    # What has no picture of its own comes after the best of each question that has one.
    candidates += [(1, found) for kind in _ON_THE_PAGE for found in _on_the_page(study, kind)[:1]]
    candidates.sort(key=lambda one: (one[0], *_strength(one[1])))
    kept = [found for _, found in candidates[: MOST_CLAIMS - 1]]
    return sorted(kept, key=lambda found: (_ORDER.index(found.finding.kind), found.finding.spans))


_ON_THE_PAGE: Final = (Kind.METRE, Kind.MOTIVE, Kind.PATTERN, Kind.HAND)


def _strength(found: WeighedFinding) -> tuple[bool, float]:
    """Order by verdict, then by how rare chance makes it."""
    return found.verdict is not Verdict.FIRM, 1.0 if found.q is None else found.q


def _solid(study: Study, kind: Kind) -> list[WeighedFinding]:
    return sorted((f for f in study.of_kind(kind) if f.is_solid), key=_strength)


def _own(study: Study, kind: Kind) -> list[WeighedFinding]:
    """List what is solid and not said already by another finding, the most solid first."""
    return [found for found in _solid(study, kind) if not found.follows_from]


def _on_the_page(study: Study, kind: Kind) -> list[WeighedFinding]:
    """List what has no picture of its own, save a return that is folded as a mirror already."""
    folded = {name for found in _mirrors(study) for name in found.follows_from}
    return [found for found in _own(study, kind) if found.finding.id not in folded]


def _gestures(study: Study) -> Sequence[WeighedFinding]:
    return _own(study, Kind.GESTURE)


def _passes(study: Study) -> Sequence[WeighedFinding]:
    """Tell each riff: those whose statements share no time with a riff told already."""
    return _apart(_own(study, Kind.PASSES))


def _mirrors(study: Study) -> Sequence[WeighedFinding]:
    """Tell mirrors of pitch that lie apart; then those of rhythm and weight about other points.

    Two statements of a riff mirror each other wherever the riff mirrors anything, so a mirror
    across them is told only if there is none within one.
    What follows from a finding that has a picture is not told twice; of a figure that comes back
    turned there is none, so its mirror is told in its place.
    """
    statements = _statements(study)
    returns = {found.finding.id for found in _own(study, Kind.MOTIVE)}
    mirrors = [one for one in _solid_mirrors(study) if returns.issuperset(one[0].follows_from)]
    mirrors.sort(key=lambda one: _mirror_rank(one[0], one[1]))
    levels = [_leaves_statement(what, statements) for _, what in mirrors]
    kept = [
        one for one, level in zip(mirrors, levels, strict=True) if level == min(levels, default=0)
    ]
    told = _apart_mirrors([one for one in kept if one[1].of not in _WITHOUT_PITCH])
    axes = {what.axis_quarters for _, what in told if what.of == "retrograde"}
    flat = [one for one in kept if one[1].of in _WITHOUT_PITCH]
    others = _apart_mirrors([one for one in flat if one[1].axis_quarters not in axes])
    return [found for found, _ in (*told, *others)]


def _solid_mirrors(study: Study) -> list[tuple[WeighedFinding, Mirror]]:
    return [
        (found, found.finding.what)
        for found in _solid(study, Kind.MIRROR)
        if isinstance(found.finding.what, Mirror)
    ]


def _apart_mirrors(
    ranked: Sequence[tuple[WeighedFinding, Mirror]],
) -> list[tuple[WeighedFinding, Mirror]]:
    kept: list[tuple[WeighedFinding, Mirror]] = []
    for found, what in ranked:
        if all(_lie_apart([mirror_span(what)], [mirror_span(other)]) for _, other in kept):
            kept.append((found, what))
    return kept


def _sonorities(study: Study) -> Sequence[WeighedFinding]:
    """Tell one sound; what is struck or rings is plainer to hear than what a line spells out."""

    def rank(found: WeighedFinding) -> tuple[bool, int, float]:
        is_likely, q = _strength(found)
        what = found.finding.what
        how = ("struck", "ringing", "in_succession").index(
            what.how if isinstance(what, Sonority) else "in_succession"
        )
        return is_likely, how, q

    return sorted(_own(study, Kind.SONORITY), key=rank)[:1]


def _scales(study: Study) -> Sequence[WeighedFinding]:
    """Tell one thing about scales: a change between two, if there is one, shows both."""
    return [
        *_own(study, Kind.COLLECTION_CHANGE),
        *_own(study, Kind.COLLECTION),
    ][:1]


def _drones(study: Study) -> Sequence[WeighedFinding]:
    return _apart(_own(study, Kind.DRONE))


def _anchors(study: Study) -> Sequence[WeighedFinding]:
    return _own(study, Kind.ANCHOR)[:1]


def _apart(ranked: Sequence[WeighedFinding]) -> list[WeighedFinding]:
    """Keep what lies apart from everything kept before it."""
    kept: list[WeighedFinding] = []
    for found in ranked:
        if all(_lie_apart(found.finding.spans, other.finding.spans) for other in kept):
            kept.append(found)
    return kept


def _lie_apart(spans: Sequence[Span], others: Sequence[Span]) -> bool:
    """Say whether less than half of some spans' time lies in others."""
    length = sum((span.length_quarters for span in spans), Fraction(0))
    shared = sum((a.overlap_quarters(b) for a in spans for b in others), Fraction(0))
    return 2 * shared < length


_WITHOUT_PITCH: Final[frozenset[MirrorOf]] = frozenset({"rhythm", "weight", "passes"})

_PLAINEST_FIRST: Final[Mapping[MirrorOf, int]] = MappingProxyType(
    {
        "retrograde": 0,
        "gesture": 1,
        "retrograde_inversion": 2,
        "inversion": 3,
        "rhythm": 4,
        "weight": 5,
        "passes": 6,
    }
)


def _mirror_rank(found: WeighedFinding, what: Mirror) -> tuple[bool, int, float]:
    """Rank a mirror by verdict, then the plainest to hear, then by its pairs."""
    pairs = found.finding.measures.get("pairs", 0.0)
    return found.verdict is not Verdict.FIRM, _PLAINEST_FIRST[what.of], -pairs


def _leaves_statement(what: Mirror, statements: Sequence[Span]) -> int:
    """Tell how far a mirror belongs to one statement.

    Returns:
        0 if it touches one at most; 1 if its axis stands well inside one; 2 if it stands where one
        meets the next.
    """
    whole = mirror_span(what)
    if sum(whole.overlap_quarters(one) > 0 for one in statements) <= 1:
        return 0
    for one in statements:
        edge = one.length_quarters / 4
        if edge <= what.axis_quarters - one.start_quarters <= one.length_quarters - edge:
            return 1
    return 2


def _statements(study: Study) -> list[Span]:
    return [
        one.span
        for found in _solid(study, Kind.PASSES)
        if isinstance(found.finding.what, Passes)
        for one in found.finding.what.readings[0].passes
    ]


def _with_rhythm(claims: Sequence[Claim], study: Study) -> list[Claim]:
    """Say of notes that come back in reverse that their rhythm does too, if it turns there."""
    axes = {what.axis_quarters for _, what in _solid_mirrors(study) if what.of == "rhythm"}
    return [
        replace(claim, lines=(*claim.lines, say("The rhythm turns back at the same point.")))
        if claim.finding is not None
        and isinstance(claim.finding.finding.what, Mirror)
        and claim.finding.finding.what.of == "retrograde"
        and claim.finding.finding.what.axis_quarters in axes
        else claim
        for claim in claims
    ]


def _opening(study: Study) -> Span:
    """Give the riff where it is first stated; the passage if it has none."""
    statements = _statements(study)
    return min(statements) if statements else study.passage.span


def _bare_page(study: Study) -> Claim:
    passage = study.passage
    return Claim(
        title=say("{title}, as written.", title=passage.title or say("The passage")),
        scene=SceneName.PAGE,
        lines=_nothing_solid(study),
        excerpts=(excerpt(passage, passage.span),),
        finding=None,
    )


def _nothing_solid(study: Study) -> tuple[str, ...]:
    if any(found.verdict is Verdict.SUGGESTIVE for found in study.findings):
        return (
            say("Nothing in it is sure enough to be claimed."),
            say("Where so much is looked at, something always stands out as much as this."),
            say("The handout lists it all."),
        )
    return (
        say("Nothing in it goes beyond what chance would do."),
        say("So this essay claims nothing. The handout lists what was looked at."),
    )


def _shifts(what: What) -> bool:
    return isinstance(what, MetreAnswer) and what.meets_after is not None


def _whole(study: Study, told: Sequence[WeighedFinding]) -> Claim:
    """Play everything once more, with the mirror that was told, since that is what it draws."""
    counts = Counter(found.finding.kind for found in told)
    names = [
        say(_SEVERAL_HEARD_AS[kind])
        if count > 1 and kind in _SEVERAL_HEARD_AS
        else say(_WITHIN_THE_BAR)
        if kind is Kind.METRE and not any(_shifts(found.finding.what) for found in told)
        else say(_HEARD_AS[kind])
        for kind, count in counts.items()
    ]
    mirror = next((found for found in told if found.finding.kind is Kind.MIRROR), None)
    return Claim(
        title=say("All of it at once."),
        scene=SceneName.WHOLE,
        lines=(say("Once more, now with an ear for {names}.", names=listed(names)),),
        excerpts=(excerpt(study.passage, study.passage.span, longest_seconds=WHOLE_SECONDS),),
        finding=mirror,
    )
