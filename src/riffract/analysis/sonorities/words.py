"""A sonority in words: one sentence for a listener, and the terms of the field."""

from collections import Counter
from collections.abc import Mapping, Sequence
from types import MappingProxyType
from typing import Final

from riffract.analysis.finding import How, Sonority
from riffract.analysis.pitch_class_set import mask_of
from riffract.analysis.saying import say
from riffract.analysis.set_class import SetClass, class_name, class_with_number
from riffract.analysis.wording import in_bars_text, listed, percent, times
from riffract.music import Passage

_MANNERS: Final[Mapping[How, str]] = MappingProxyType(
    {
        "struck": "Struck together, the strings sound {name} {where}.",
        "ringing": "Ringing together, the strings sound {name} {where}.",
        "in_succession": "In a row, the moving voice sounds {name} {where}.",
    }
)
_OPENS_STRUCK: Final = "The passage opens on {name}, struck together."
_OPENS_RINGING: Final = "The passage opens on {name}, ringing together."
_HOW: Final[Mapping[How, str]] = MappingProxyType(
    {"struck": "struck", "ringing": "ringing", "in_succession": "in succession"}
)
_TRIAD_MOVES: Final[Mapping[str, str]] = MappingProxyType(
    {
        "parallel": "parallel {often}",
        "leading_tone": "leading-tone {often}",
        "relative": "relative {often}",
        "other": "other {often}",
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
        is_struck = what.how == "struck"
        return say(_OPENS_STRUCK, name=name) if is_struck else say(_OPENS_RINGING, name=name)
    where = in_bars_text(passage, [what.occurrences[0]])
    often = len(what.occurrences)
    if often > 1:
        where = say("{often}, first {where}", often=times(often), where=where)
    return say(_MANNERS[what.how], name=name, where=where)


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
        say(
            "{set_class}, {how}: {forms}; {share} of the passage.",
            set_class=_class_in_digits(set_class),
            how=say(_HOW[what.how]),
            forms=_forms(what, names),
            share=percent(what.share),
        ),
        _ways_up(what),
        _shares(what, measures),
        _with_ringing(what),
        _triad_moves(measures),
    )
    return " ".join(part for part in parts if part)


def _shares(what: Sonority, measures: Mapping[str, float]) -> str:
    return say(
        "Of the sets of this size {how} {share} are of this class; of random ones {chance} would "
        "be.",
        how=say(_HOW[what.how]),
        share=percent(measures["class_share"]),
        chance=percent(measures["chance_share"]),
    )


def _class_in_digits(set_class: SetClass) -> str:
    """Name a class by number, prime form and vector; both packings where they differ."""
    prime = _digits(set_class.prime_form)
    packing = (
        ""
        if set_class.forte_form == set_class.prime_form
        else say(" in Rahn's packing, ({prime}) in Forte's", prime=_digits(set_class.forte_form))
    )
    return say(
        "Set class {number}, prime form ({prime}){packing}, interval-class vector <{vector}>",
        number=set_class.forte,
        prime=prime,
        packing=packing,
        vector="".join(map(str, set_class.vector)),
    )


def _digits(pcs: Sequence[int]) -> str:
    return "".join("0123456789TE"[pc] for pc in pcs)


def _forms(what: Sonority, names: Mapping[int, str]) -> str:
    forms = Counter(tuple(sorted(pcs)) for pcs in what.occurrence_pcs).most_common()
    shown = [f"{' '.join(names[pc] for pc in form)} {times(count)}" for form, count in forms]
    more = len(shown) - _MOST_FORMS_SHOWN
    if more > 0:
        shown[_MOST_FORMS_SHOWN:] = [say("{count} more of its forms", count=more)]
    return listed(shown)


def _ways_up(what: Sonority) -> str:
    if len(what.ways_up) < 2:
        return ""
    ways = [f"({_digits(form)}) {times(count)}" for form, count in what.ways_up]
    return say("It stands both ways up: {ways}.", ways=listed(ways))


def _with_ringing(what: Sonority) -> str:
    if not what.with_ringing:
        return ""
    told = [f"{class_with_number(forte)} {times(count)}" for forte, count in what.with_ringing]
    return say("With what rings on it becomes {sets}.", sets=listed(told))


def _triad_moves(measures: Mapping[str, float]) -> str:
    """Say how triads go over into one another, if they do."""
    told = [
        say(_TRIAD_MOVES[name], often=times(int(measures[f"{name}_moves"])))
        for name in _TRIAD_MOVES
        if measures.get(f"{name}_moves")
    ]
    return say("From one triad to the next: {moves}.", moves=listed(told)) if told else ""
