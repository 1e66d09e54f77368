"""Sections as what begins when, which is how they are edited."""

from collections.abc import Iterator, Mapping
from fractions import Fraction
from itertools import pairwise

from riffract.music import Passage, Section, Span


def section_starts(passage: Passage) -> dict[Fraction, str]:
    """Say what begins when; an empty label where a section ends and none begins."""
    starts = {section.span.end_quarters: "" for section in passage.sections}
    return starts | {section.span.start_quarters: section.label for section in passage.sections}


def sections_from(starts: Mapping[Fraction, str], end_quarters: Fraction) -> Iterator[Section]:
    """Stretch each label to the next, or to the end.

    >>> [s.label for s in sections_from({Fraction(0): "A", Fraction(2): ""}, Fraction(4))]
    ['A']
    """
    moments = sorted(at for at in starts if at < end_quarters)
    for start, end in pairwise([*moments, end_quarters]):
        if starts[start]:
            yield Section(label=starts[start], span=Span(start, end))
