"""A sonority in words: one sentence for a listener, and the terms of the field."""

from collections import Counter
from collections.abc import Mapping, Sequence
from types import MappingProxyType
from typing import Final

from riffract.analysis.finding import How, Sonority
from riffract.analysis.pitch_class_set import mask_of
from riffract.analysis.set_class import SetClass, class_name, class_with_number
from riffract.analysis.wording import bars_text, listed, percent, times
from riffract.music import Passage

_MANNERS: Final[Mapping[How, str]] = MappingProxyType(
    {
        "struck": "Struck together, the strings sound",
        "ringing": "Ringing together, the strings sound",
        "in_succession": "In a row, the moving voice sounds",
    }
)

_MOST_FORMS_SHOWN: Final = 6
"""The detail is one paragraph; all forms are in `Sonority.occurrence_pcs`."""


def sonority_sentence(passage: Passage, what: Sonority) -> str:
    """Say what sounds, how, how often and where first.

    Args:
        passage: what is studied.
        what: the finding's answer.
    """
    name = class_name(mask_of(pcs) for pcs in what.occurrence_pcs)
    if what.is_first_sound:
        return f"The passage opens on {name}, {what.how} together."
    first = bars_text(passage, [what.occurrences[0]])
    often = len(what.occurrences)
    where = f"in {first}" if often == 1 else f"{times(often)}, first in {first}"
    return f"{_MANNERS[what.how]} {name} {where}."


def sonority_detail(
    set_class: SetClass, what: Sonority, measures: Mapping[str, float], names: Mapping[int, str]
) -> str:
    """Give class, forms, which way up, share, and what a ringing string makes of it.

    Args:
        set_class: of the sonority.
        what: the finding's answer.
        measures: the finding's numbers.
        names: the passage's spelling.
    """
    parts = (
        f"{_class_in_digits(set_class)}, {_manner(what)}: {_forms(what, names)};",
        f"{percent(what.share)} of the passage.",
        _ways_up(what),
        _shares(what, measures),
        _with_ringing(what),
        _triad_moves(measures),
    )
    return " ".join(part for part in parts if part)


def _manner(what: Sonority) -> str:
    return what.how.replace("_", " ")


def _shares(what: Sonority, measures: Mapping[str, float]) -> str:
    return (
        f"Of the sets of this size {_manner(what)} {percent(measures['class_share'])} are of this "
        f"class; of random ones {percent(measures['chance_share'])} would be."
    )


def _class_in_digits(set_class: SetClass) -> str:
    """Name a class by number, prime form and vector; both packings where they differ."""
    prime = _digits(set_class.prime_form)
    packing = (
        ""
        if set_class.forte_form == set_class.prime_form
        else f" in Rahn's packing, ({_digits(set_class.forte_form)}) in Forte's"
    )
    vector = "".join(map(str, set_class.vector))
    return (
        f"Set class {set_class.forte}, prime form ({prime}){packing}, interval-class vector "
        f"<{vector}>"
    )


def _digits(pcs: Sequence[int]) -> str:
    return "".join("0123456789TE"[pc] for pc in pcs)


def _forms(what: Sonority, names: Mapping[int, str]) -> str:
    forms = Counter(tuple(sorted(pcs)) for pcs in what.occurrence_pcs).most_common()
    shown = [f"{' '.join(names[pc] for pc in form)} {times(count)}" for form, count in forms]
    more = len(shown) - _MOST_FORMS_SHOWN
    if more > 0:
        shown[_MOST_FORMS_SHOWN:] = [f"{more} more of its forms"]
    return listed(shown)


def _ways_up(what: Sonority) -> str:
    if len(what.ways_up) < 2:
        return ""
    ways = [f"({_digits(form)}) {times(count)}" for form, count in what.ways_up]
    return f"It stands both ways up: {listed(ways)}."


def _with_ringing(what: Sonority) -> str:
    if not what.with_ringing:
        return ""
    told = [f"{class_with_number(forte)} {times(count)}" for forte, count in what.with_ringing]
    return f"With what rings on it becomes {listed(told)}."


def _triad_moves(measures: Mapping[str, float]) -> str:
    """Say how triads go over into one another, if they do."""
    named = {
        name: int(measures[f"{name}_moves"])
        for name in ("parallel", "leading_tone", "relative", "other")
        if measures.get(f"{name}_moves")
    }
    if not named:
        return ""
    told = [f"{name.replace('_', '-')} {times(count)}" for name, count in named.items()]
    return f"From one triad to the next: {listed(told)}."
