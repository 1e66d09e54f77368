"""Bytes as editors and mail programs save them."""

import pytest
from hypothesis import given
from hypothesis import strategies as st

from riffract.formats.text import text_of

WORDS = "title: Flüssiger Stein — ½\n"


@pytest.mark.parametrize("encoding", ["utf-8", "utf-8-sig", "utf-16"])
def test_unicode_is_read_with_and_without_its_mark(encoding):
    assert text_of(WORDS.encode(encoding)) == (WORDS, ())


@pytest.mark.parametrize(
    ("encoding", "mark"), [("utf-16-le", b"\xff\xfe"), ("utf-16-be", b"\xfe\xff")]
)
def test_both_orders_of_bytes_are_read(encoding, mark):
    assert text_of(mark + WORDS.encode(encoding)) == (WORDS, ())


def test_an_old_mail_is_read_with_a_warning_at_its_first_odd_letter():
    text, (warning,) = text_of("one\nbéndé 7½".encode("cp1252"))
    assert text == "one\nbéndé 7½"
    assert (warning.line, warning.severity) == (2, "warning")


@pytest.mark.parametrize("data", [b"\x00\xff\x01\x80abc", b"a\xff\x00", b"\xff\xfea", b"ab\0c"])
def test_what_is_no_text_is_refused_with_its_line(data):
    text, (problem,) = text_of(data)
    assert text is None
    assert problem.severity == "error"
    assert problem.mend


@given(data=st.binary(max_size=60))
def test_any_bytes_are_text_or_are_refused(data):
    text, said = text_of(data)
    assert text is not None or said
