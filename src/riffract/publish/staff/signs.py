"""Signs that a tab staff says in its own way, said as notation has them."""

from collections.abc import Iterator
from copy import deepcopy
from fractions import Fraction
from itertools import accumulate
from typing import Final

from lxml import etree
from lxml.etree import _Element as Element

from riffract.analysis.saying import say

_TONES: Final = {Fraction(1, 4): "¼", Fraction(1, 2): "½", Fraction(3, 4): "¾"}
_LEGATO: Final = frozenset({"hammer-on", "pull-off"})


_WORDS_POINTS: Final = "8"
"""Smaller than the engraver's usual words, which would reach into the next bar's number."""


def carry_signs(notation: Element, tab: Element) -> None:
    """Give a note of notation the signs that only its twin on the tab staff has.

    Hammer-ons and pull-offs become slurs, slides stay lines, and a bend is told in tones above.

    Source: common practice of guitar notation.
    """
    carried = list(_carried(tab))
    if carried:
        _notations(notation).extend(carried)
    semitones = [Fraction(text.text or "0") for text in tab.iter("bend-alter")]
    if semitones:
        _write_words(notation, bend_words(semitones))


def tell_ringing(part: Element) -> None:
    """Say "let ring" where ringing begins, in place of a tie into the open at each note.

    Such ties have no room in a run of eighths. What rings is told once, until a note does not.
    """
    was_ringing = False
    for measure in part:
        for note in measure.findall("note"):
            ties = [tie for tie in note.iter("tied") if tie.get("type") == "let-ring"]
            if ties and not was_ringing:
                _write_words(note, say("let ring"))
            if note.find("chord") is None and note.find("rest") is None:
                was_ringing = bool(ties)
            for tie in ties:
                parent = tie.getparent()
                assert parent is not None, "a tie is drawn among notations"
                parent.remove(tie)


def _carried(tab: Element) -> Iterator[Element]:
    for tag in tab.iterfind("notations/technical/*"):
        if tag.tag in _LEGATO:
            yield etree.Element("slur", type=tag.get("type", ""), number=tag.get("number", "1"))
    yield from map(deepcopy, tab.iterfind("notations/slide"))


def _notations(note: Element) -> Element:
    found = note.find("notations")
    if found is not None:
        return found
    made = etree.Element("notations")
    play = note.find("play")
    if play is None:
        note.append(made)
    else:
        play.addprevious(made)
    return made


def _write_words(note: Element, text: str) -> None:
    direction = etree.Element("direction", placement="above")
    kind = etree.SubElement(direction, "direction-type")
    words = etree.SubElement(kind, "words")
    words.set("font-size", _WORDS_POINTS)
    words.text = text
    etree.SubElement(direction, "voice").text = note.findtext("voice", "1")
    _stem_of(note).addprevious(direction)


def _stem_of(note: Element) -> Element:
    """Give the first note of a chord; nothing may stand between it and the others."""
    while note.find("chord") is not None:
        before = note.getprevious()
        assert before is not None, "a chord starts with a note of its own"
        note = before
    return note


def bend_words(semitones: list[Fraction]) -> str:
    """Tell how far a bend goes, in tones: its steps added up, the furthest from the fret.

    >>> bend_words([Fraction(2), Fraction(-2)]), bend_words([Fraction(1)])
    ('bend 1', 'bend ½')
    >>> bend_words([Fraction(-3), Fraction(3)])
    'bar −1½'
    """
    furthest = max(accumulate(semitones), key=abs)
    tones = _tones(abs(furthest) / 2)
    return say("bar −{tones}", tones=tones) if furthest < 0 else say("bend {tones}", tones=tones)


def _tones(tones: Fraction) -> str:
    whole, part = divmod(tones, 1)
    if part and part not in _TONES:
        return f"{float(tones):.2g}"
    return f"{whole or ''}{_TONES.get(part, '')}" or "0"
