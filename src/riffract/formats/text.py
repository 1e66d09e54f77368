"""Text from bytes, whatever it was saved as."""

from codecs import BOM_UTF8, BOM_UTF16_BE, BOM_UTF16_LE

from riffract.formats.problem import Problem, Severity

_ENCODING_OF_MARK = {BOM_UTF8: "utf-8-sig", BOM_UTF16_LE: "utf-16", BOM_UTF16_BE: "utf-16"}
_OLD_ENCODING = "cp1252"


def text_of(data: bytes) -> tuple[str | None, tuple[Problem, ...]]:
    """Decode UTF-8, or UTF-16 with a byte-order mark; else the Western encoding of old mails.

    Returns:
        The text, `None` if these bytes are none, and what is to be said about it.

    >>> text_of("é".encode("cp1252"))[0]
    'é'
    """
    encoding = next((name for mark, name in _ENCODING_OF_MARK.items() if data.startswith(mark)), "")
    try:
        text = data.decode(encoding or "utf-8")
    except UnicodeDecodeError as error:
        line = data[: error.start].count(b"\n") + 1
        if not encoding:
            return _old_text(data, line=line)
        return None, (Problem(what=f"the text breaks off as {encoding}", mend=_MEND, line=line),)
    if "\0" in text:
        line = text[: text.index("\0")].count("\n") + 1
        return None, (
            Problem(what="the file holds zero bytes, so it is no text", mend=_MEND, line=line),
        )
    return text, ()


_MEND = "save it as plain text in UTF-8 in your text editor"


def _old_text(data: bytes, *, line: int) -> tuple[str | None, tuple[Problem, ...]]:
    """Read a text of one byte a sign, if it looks like one."""
    refused = Problem(what="the text is not UTF-8", mend=_MEND, line=line)
    if data.translate(None, delete=bytes(range(9, 14))) != data.translate(
        None, delete=bytes(range(32))
    ):
        return None, (refused,)
    try:
        text = data.decode(_OLD_ENCODING)
    except UnicodeDecodeError:
        return None, (refused,)
    warning = Problem(
        what="the text is not UTF-8; it is read as Windows-1252",
        mend="save it as UTF-8 if its letters look wrong",
        line=line,
        severity=Severity.WARNING,
    )
    return text, (warning,)
