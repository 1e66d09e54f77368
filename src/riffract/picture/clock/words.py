"""What is written beside the clock."""

from collections.abc import Collection, Mapping, Sequence
from typing import Final

from riffract.analysis.finding import Collection as CollectionFound
from riffract.analysis.finding import Sonority
from riffract.analysis.saying import say, say_count
from riffract.analysis.wording import counted, in_words, listed, times
from riffract.picture.clock.face import NOTES, runs, turn_between, turn_symmetry

_SUBSCRIPTS: Final = str.maketrans("0123456789", "₀₁₂₃₄₅₆₇₈₉")
TURNS: Final = {
    1: "However it is turned, it looks the same.",
    2: "Turned by a sixth, it looks the same.",
    3: "Turned by a quarter, it looks the same.",
    4: "Turned by a third, it looks the same.",
    6: "Turned by half, it looks the same.",
}


def form_label(form: str) -> str:
    """Write a form's name with its numbers below the line.

    >>> form_label("HEX0,1"), form_label("OCT2,3"), form_label("WT0")
    ('HEX₀₁', 'OCT₂₃', 'WT₀')
    """
    head = form.rstrip("0123456789,")
    numbers = form[len(head) :].split(",")
    joint = "" if all(len(number) < 2 for number in numbers) else ", "
    return head + joint.join(numbers).translate(_SUBSCRIPTS)


def prime_form_text(prime_form: Sequence[int]) -> str:
    """Write a prime form as analysts do.

    >>> prime_form_text((0, 1, 6)), prime_form_text((0, 2, 10))
    ('(016)', '(0 2 10)')
    """
    joint = "" if max(prime_form, default=0) < 10 else " "
    return f"({joint.join(map(str, prime_form))})"


def shape_words(pcs: Collection[int], family: str) -> str:
    """Say what a collection looks like on the ring.

    >>> shape_words({0, 1, 4, 5, 8, 9}, "hexatonic"), shape_words({0, 2, 4, 6, 8, 10}, "whole-tone")
    ('three close pairs', 'six notes, evenly spread')
    >>> shape_words({0, 2, 4, 5, 7, 9, 11}, "diatonic")
    'diatonic'
    """
    sizes = {len(run) for run in runs(pcs)}
    count = len(runs(pcs))
    if sizes == {12}:
        return say("all twelve notes")
    if sizes == {1}:
        number = in_words(count)
        if turn_symmetry(pcs) * count == NOTES:
            return say("{number} notes, evenly spread", number=number)
        return say("{number} notes, none side by side", number=number)
    if sizes == {2}:
        return counted(count, "close pair")
    if len(sizes) == 1:
        return say("{runs} of {size}", runs=counted(count, "run"), size=in_words(sizes.pop()))
    return say(family)


def grouped_names(pcs: Collection[int], names: Mapping[int, str]) -> str:
    """List names, close neighbours together.

    >>> grouped_names({0, 1, 4}, {0: "C", 1: "D♭", 4: "E"})
    'C D♭ · E'
    """
    return " · ".join(" ".join(names[pc] for pc in run) for run in runs(pcs))


def collection_words(found: CollectionFound, names: Mapping[int, str]) -> str:
    """Say what else is to be known about a collection: name, symmetry, what is missing."""
    parts = []
    turn = TURNS.get(turn_symmetry(found.pcs))
    if found.missing:
        missing = listed([names[pc] for pc in found.missing])
        parts.append(say("Without {notes}.", notes=missing))
    elif turn:
        parts.append(say(turn))
    outside = dict.fromkeys(stray.pc for stray in found.foreign)
    if outside:
        notes = listed([names[pc] for pc in outside])
        parts.append(say("Outside it: {notes} (diamond).", notes=notes))
    return " ".join([*parts, f"{form_label(found.form)}."])


def relation_words(one: Collection[int], other: CollectionFound, names: Mapping[int, str]) -> str:
    """Say how a second collection relates to the first."""
    turn = turn_between(one, other.pcs)
    label = form_label(other.form)
    moved = f"{label}, {turn_words(turn)}." if turn else f"{label}."
    common = sorted(set(one) & set(other.pcs))
    if not common:
        return f"{moved} {say('They share no note.')}"
    shared = listed([names[pc] for pc in common])
    told = say_count(
        len(common),
        "Only {notes} belongs to both (double dots).",
        "Only {notes} belong to both (double dots).",
        notes=shared,
    )
    return f"{moved} {told}"


def turn_words(turn: int) -> str:
    """Say how far something is turned.

    >>> turn_words(1), turn_words(-2)
    ('one step up', 'two steps down')
    """
    steps = counted(abs(turn), "step")
    return say("{steps} up", steps=steps) if turn > 0 else say("{steps} down", steps=steps)


def sonority_words(found: Sonority) -> str:
    """Say how a chord is heard, and how often."""
    how = {
        "struck": "Struck together",
        "ringing": "Ringing together",
        "in_succession": "One note after the other",
    }[found.how]
    often = times(len(found.occurrences))
    if found.is_first_sound:
        return say("{how}, {often}, at the very start first.", how=say(how), often=often)
    return f"{say(how)}, {often}."


_GROUPS: Final = ("The same notes", "Moved", "Mirrored")


def occurrence_groups(
    found: Sonority,
) -> tuple[tuple[str, tuple[int, ...], tuple[int, ...]], ...]:
    """Sort occurrences by how they relate to the first one.

    Returns:
        For each group that occurs its heading, the pitch classes of its first occurrence, and the
        indices of its occurrences: the same notes, moved ones, mirrored ones.
    """
    first = set(found.occurrence_pcs[0])
    same, moved, mirrored = [], [], []
    for index, pcs in enumerate(found.occurrence_pcs):
        if set(pcs) == first:
            same.append(index)
        elif turn_between(first, set(pcs)) is not None:
            moved.append(index)
        else:
            mirrored.append(index)
    return tuple(
        (f"{say(_GROUPS[k])}, {times(len(own))}", found.occurrence_pcs[own[0]], tuple(own))
        for k, own in enumerate((same, moved, mirrored))
        if own
    )
