"""Making tags."""

from lxml import etree
from lxml.etree import _Element as Element


def child(parent: Element, tag_name: str, text: object = None, /, **attributes: str) -> Element:
    """Add a tag behind the others in its parent.

    Args:
        parent: what it stands in.
        tag_name: what it is called.
        text: what it holds; `None` for an empty tag.
        attributes: by name; an underscore in a name stands for a hyphen.
    """
    tag = etree.SubElement(parent, tag_name)
    for key, value in attributes.items():
        tag.set(key.replace("_", "-"), value)
    if text is not None:
        tag.text = str(text)
    return tag


def loose(name: str) -> Element:
    """Make a tag that has no parent yet."""
    return etree.Element(name)


def append_filled(parent: Element, tag: Element) -> None:
    """Add a loose tag to its parent, unless it came to hold nothing."""
    if len(tag):
        parent.append(tag)


def printable(text: str) -> str:
    r"""Leave out what XML cannot hold, such as control characters.

    Source: XML 1.0, production 2, `Char`.

    >>> printable("Study\x00 1")
    'Study 1'
    """
    return "".join(
        sign for sign in text if sign in "\t\n\r" or (sign >= " " and not _is_unfit(ord(sign)))
    )


def _is_unfit(code: int) -> bool:
    return 0xD800 <= code <= 0xDFFF or code in {0xFFFE, 0xFFFF}
