"""Signs that a tab staff says in its own way, said as notation has them."""

from collections.abc import Iterator
from copy import deepcopy
from typing import Final

from lxml import etree
from lxml.etree import _Element as Element

_LEGATO: Final = frozenset({"hammer-on", "pull-off"})
_LINES: Final = ("slur", "slide", "dashes")


def carry_signs(notation: Element, tab: Element, *, slides_in: bool) -> None:
    """Give a note of notation the signs that only its twin on the tab staff has.

    Hammer-ons and pull-offs become slurs, slides stay lines, unless they come from nowhere; the tab
    staff under it says the rest.

    Source: common practice of guitar notation.
    """
    carried = list(_carried(tab))
    if slides_in:
        carried = [tag for tag in carried if tag.tag != "slide" or _starts(tag)]
    if carried:
        _notations(notation).extend(carried)


def take_out_loose_ends(part: Element) -> None:
    """Take out lines that only start or only end, in the order of the file.

    A hammer-on may come from nowhere, and a slowing-down lead there; the engraver draws neither.
    """
    for name in _LINES:
        begun: dict[str, Element] = {}
        for tag in list(part.iter(name)):
            number = tag.get("number", "1")
            if tag.get("type") == "start":
                _take_out(begun.get(number))
                begun[number] = tag
            elif begun.pop(number, None) is None:
                _take_out(tag)
        for tag in begun.values():
            _take_out(tag)


def _take_out(tag: Element | None) -> None:
    """Take out a tag, and a direction's type with it, since that must not be empty."""
    if tag is None:
        return
    parent = tag.getparent()
    assert parent is not None, "lines stand inside notes or directions"
    parent.remove(tag)
    direction = parent.getparent()
    if parent.tag == "direction-type" and direction is not None:
        direction.remove(parent)
        measure = direction.getparent()
        if direction.find("direction-type") is None and measure is not None:
            measure.remove(direction)


def _carried(tab: Element) -> Iterator[Element]:
    """Give slurs and slides, first those that end: others of a string have the same number."""
    legato = [tag for tag in tab.iterfind("notations/technical/*") if tag.tag in _LEGATO]
    for tag in sorted(legato, key=_starts):
        yield etree.Element("slur", type=tag.get("type", ""), number=tag.get("number", "1"))
    yield from map(deepcopy, sorted(tab.iterfind("notations/slide"), key=_starts))


def _starts(tag: Element) -> bool:
    return tag.get("type") == "start"


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
