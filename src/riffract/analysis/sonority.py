"""What is sounding together, and what comes in a row?"""

from collections import Counter
from collections.abc import Iterator, Mapping, Sequence
from fractions import Fraction
from types import MappingProxyType
from typing import Final

import numpy as np

from riffract.analysis.attacks import Attack
from riffract.analysis.finding import Finding, How, Kind, Limb, Sonority
from riffract.analysis.occurrence import (
    Occurrence,
    first_sound,
    ringing_together,
    rows_of_three,
    struck_together,
    without_overlap,
)
from riffract.analysis.pitch_class_set import mask_of
from riffract.analysis.set_class import class_name
from riffract.analysis.spelling import twelve_names
from riffract.analysis.wording import bars_text, listed, percent, times
from riffract.music import NoteTable, Passage, Span

FEWEST_IN_SUCCESSION: Final = 2
"""A row of notes is a sonority if it comes back; every line has rows that come once."""


def find_sonorities(
    passage: Passage, attacks: Sequence[Attack], limbs: Sequence[Limb]
) -> tuple[Finding, ...]:
    """List the set classes of three pitch classes and more, and how they come to be heard.

    - *struck*: an attack holds them, for as long as all of its notes sound and nothing new comes.
    - *ringing*: they sound together though they were not struck together.
    - *in succession*: three notes of the moving voice in a row, all different in pitch class,
      within one limb and without a silence of more than two quarters; a repeated note counts once.
      Rows overlap, so those of one class are counted from the first on, each note in one only; and
      only classes that come twice are listed.

    The first sound is the first attack, if it holds three pitch classes; else what its ringing
    grows to, before a string is struck again or one of its notes stops.

    Args:
        passage: what is studied.
        attacks: its attacks.
        limbs: the moving voice, limb by limb.

    Returns:
        One finding for each class and manner: the first sound, then by manner, then by how much
        of the passage they fill.
    """
    notes = passage.notes
    struck = struck_together(notes, attacks)
    ringing = ringing_together(notes)
    rows = rows_of_three(notes, limbs)
    first = first_sound(notes, attacks, struck, ringing)
    names = twelve_names(notes.pitch[notes.is_pitched].tolist())
    manners: tuple[tuple[How, Sequence[Occurrence], Sequence[Occurrence]], ...] = (
        ("struck", struck, struck),
        ("ringing", ringing, ringing),
        ("in_succession", without_overlap(rows), rows),
    )
    findings = [
        _finding(passage, how, found, class_share, names, is_first=first in found)
        for how, occurrences, looked_at in manners
        for found, class_share in _by_class(how, occurrences, looked_at)
    ]
    return tuple(sorted(findings, key=_order))


def _order(finding: Finding) -> tuple[bool, int, float, str]:
    what = finding.what
    if not isinstance(what, Sonority):
        raise TypeError(f"a sonority is needed, got a finding of kind {finding.kind}")
    return not what.is_first_sound, list(_MANNERS).index(what.how), -what.share, what.forte


def _by_class(
    how: How, occurrences: Sequence[Occurrence], looked_at: Sequence[Occurrence]
) -> Iterator[tuple[list[Occurrence], float]]:
    """Gather occurrences by class, with the share of the class in all that was looked at.

    Shares are among sets of one size; rows that overlap are counted in `looked_at`.
    """
    by_class: dict[str, list[Occurrence]] = {}
    for occurrence in occurrences:
        by_class.setdefault(occurrence.set_class.forte, []).append(occurrence)
    of_class = Counter(x.set_class.forte for x in looked_at)
    of_size = Counter(x.set_class.size for x in looked_at)
    for forte, found in by_class.items():
        if len(found) >= (FEWEST_IN_SUCCESSION if how == "in_succession" else 1):
            yield found, of_class[forte] / of_size[found[0].set_class.size]


def _finding(
    passage: Passage,
    how: How,
    found: Sequence[Occurrence],
    class_share: float,
    names: Mapping[int, str],
    *,
    is_first: bool,
) -> Finding:
    notes = passage.notes
    set_class = found[0].set_class
    spans = tuple(Span(notes.quarters(x.start_ticks), notes.quarters(x.stop_ticks)) for x in found)
    what = Sonority(
        prime_form=set_class.prime_form,
        forte=set_class.forte,
        how=how,
        occurrences=spans,
        occurrence_pcs=tuple(x.pcs for x in found),
        share=float(_covered_quarters(spans) / passage.length_quarters),
        is_first_sound=is_first,
    )
    measures = {
        "count": len(found),
        "share": what.share,
        "class_share": class_share,
        "chance_share": set_class.chance_share,
        "forms": len({mask_of(x.pcs) for x in found}),
    }
    if how == "in_succession":
        measures["with_others_between"] = _with_others_between(notes, found)
    return Finding(
        kind=Kind.SONORITY,
        spans=spans,
        notes=tuple(sorted({i for x in found for i in x.notes})),
        what=what,
        measures=MappingProxyType({name: float(value) for name, value in measures.items()}),
        sentence=_sentence(passage, what),
        detail=_detail(found, what, measures, names),
    )


def _covered_quarters(spans: Sequence[Span]) -> Fraction:
    covered, reached = Fraction(0), Fraction(0)
    for span in spans:
        covered += max(span.end_quarters - max(span.start_quarters, reached), Fraction(0))
        reached = max(reached, span.end_quarters)
    return covered


def _with_others_between(notes: NoteTable, found: Sequence[Occurrence]) -> int:
    """Count the rows that other attacks come between."""
    place = dict(zip(np.unique(notes.onset_ticks).tolist(), range(len(notes)), strict=False))
    onset = notes.onset_ticks.tolist()
    places = [[place[onset[i]] for i in x.notes] for x in found]
    return sum(row[-1] - row[0] + 1 > len(set(row)) for row in places)


_MANNERS: Final[Mapping[How, str]] = MappingProxyType(
    {
        "struck": "Struck together, the strings sound",
        "ringing": "Ringing together, the strings sound",
        "in_succession": "In a row, the moving voice sounds",
    }
)


def _sentence(passage: Passage, what: Sonority) -> str:
    name = class_name(mask_of(pcs) for pcs in what.occurrence_pcs)
    if what.is_first_sound:
        return f"The passage opens on {name}, {what.how} together."
    first = bars_text(passage, [what.occurrences[0]])
    often = len(what.occurrences)
    where = f"in {first}" if often == 1 else f"{times(often)}, first in {first}"
    return f"{_MANNERS[what.how]} {name} {where}."


_MOST_FORMS_SHOWN: Final = 6
"""Forms listed with their notes, the most frequent first; the others are counted, since a longer
list is not read."""


def _detail(
    found: Sequence[Occurrence],
    what: Sonority,
    measures: Mapping[str, float],
    names: Mapping[int, str],
) -> str:
    set_class = found[0].set_class
    forms = Counter(tuple(sorted(x.pcs)) for x in found).most_common()
    shown = [f"{' '.join(names[pc] for pc in form)} {times(count)}" for form, count in forms]
    more = len(shown) - _MOST_FORMS_SHOWN
    if more > 0:
        shown[_MOST_FORMS_SHOWN:] = [f"{more} more of its forms"]
    prime = "".join("0123456789TE"[pc] for pc in what.prime_form)
    packing = "" if set_class.forte_form == set_class.prime_form else " in Rahn's packing"
    vector = "".join(map(str, set_class.vector))
    manner = what.how.replace("_", " ")
    return (
        f"Set class {what.forte}, prime form ({prime}){packing}, interval-class vector "
        f"<{vector}>, {manner}: {listed(shown)}; {percent(what.share)} of the passage. Of the sets "
        f"of this size {manner} {percent(measures['class_share'])} are of this class; of random "
        f"ones {percent(measures['chance_share'])} would be."
    )
