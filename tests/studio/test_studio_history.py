"""Undo and redo over several files, and what a crash leaves of them."""

import errno
import os
from io import FileIO
from pathlib import Path
from typing import Any

import pytest
from hypothesis import given
from hypothesis import strategies as st
from tests.studio.opened import demo_essay

from riffract.studio.document import Document, merge, open_document
from riffract.studio.history import History, step_between
from riffract.studio.journal import JOURNAL_FILE, read_journal
from riffract.studio.text_edit import edit_between

texts = st.text(alphabet="ab\n-|5♭", max_size=24)
files = st.dictionaries(st.sampled_from(["passage.tab", "claims.toml"]), texts, min_size=1)


@given(texts, texts)
def test_an_edit_leads_there_and_back(before: str, after: str):
    edit = edit_between(before, after)
    assert edit.apply(before) == after
    assert edit.taken_back().apply(after) == before


@given(files, st.lists(st.tuples(files, st.sampled_from(["", "typing"])), max_size=8))
def test_undo_goes_back_to_the_start_and_redo_to_the_end(first, changes):
    history = History(texts=first)
    for number, (change, joins) in enumerate(changes):
        step = step_between(history.texts, change, label="x", at=float(number), joins=joins)
        history = history if step is None else history.changed(step)
    back = history
    while back.can_undo:
        back = back.undone()
    assert dict(back.texts) == first
    assert dict(back.base()) == first
    while back.can_redo:
        back = back.redone()
    assert dict(back.texts) == dict(history.texts)


def test_what_is_typed_in_a_row_is_taken_back_at_once_and_a_pause_parts_it():
    history = History(texts={"a": ""})
    for text, at in (("1", 0.0), ("12", 0.4), ("127", 5.0)):
        step = step_between(history.texts, {"a": text}, label=text, at=at, joins="fret")
        assert step is not None
        history = history.changed(step)
    assert history.undone().texts["a"] == "12"
    assert history.undone().undone().texts["a"] == ""
    assert history.undone().undone().redone().texts["a"] == "12"


@pytest.fixture
def document(tmp_path: Path):
    folder = demo_essay(tmp_path / "essay")
    clock = iter(range(10**6)).__next__
    opened = open_document(folder, lambda: float(clock() * 10))
    yield opened
    opened.journal.close()


def reopened(document: Document) -> Document:
    """Open the folder as after a crash: nothing more was saved."""
    document.journal.close()
    document.history = document.journal = None  # type: ignore[assignment]
    return open_document(document.folder, lambda: 0.0)


def test_a_change_survives_a_crash_before_the_file_was_saved(document: Document):
    before = document.texts["passage.tab"]
    document.change("a remark", {"passage.tab": "# mine\n" + before})
    assert (document.folder / "passage.tab").read_text() == before
    again = reopened(document)
    assert again.texts["passage.tab"] == "# mine\n" + before
    assert (document.folder / "passage.tab").read_text() == "# mine\n" + before
    again.undo()
    assert again.texts["passage.tab"] == before
    document.journal = again.journal


def test_a_line_of_the_journal_that_was_cut_off_loses_that_step_only(document: Document):
    for number in range(3):
        document.change(str(number), {"claims.toml": f"# {number}\n"})
    document.save()
    path = document.folder / JOURNAL_FILE
    path.write_bytes(path.read_bytes()[:-9])
    history = read_journal(document.folder)
    assert history is not None
    assert history.texts["claims.toml"] == "# 1\n"
    again = reopened(document)
    assert again.texts["claims.toml"] == "# 2\n"  # the file had it already
    document.journal = again.journal


def test_undo_survives_closing(document: Document):
    document.change("a", {"claims.toml": "# a\n"})
    document.change("b", {"claims.toml": "# b\n"})
    document.undo()
    document.close()
    again = reopened(document)
    assert again.texts["claims.toml"] == "# a\n"
    assert again.redo() == "b"
    assert again.texts["claims.toml"] == "# b\n"
    document.journal = again.journal


def test_a_file_changed_outside_is_a_step_of_its_own(document: Document):
    path = document.folder / "claims.toml"
    before = document.texts["claims.toml"]
    path.write_text("# from outside\n")
    assert document.look_outside().changed == ("claims.toml",)
    assert document.texts["claims.toml"] == "# from outside\n"
    document.undo()
    document.save()
    assert path.read_text() == before


def test_changes_here_and_outside_in_other_lines_come_together(document: Document):
    text = document.texts["essay.toml"]
    first, last = f"# here\n{text}", f"{text}# there\n"
    document.change("here", {"essay.toml": first})
    (document.folder / "essay.toml").write_text(last)
    document.look_outside()
    assert document.texts["essay.toml"] == f"# here\n{text}# there\n"


def test_changes_here_and_outside_in_the_same_line_are_both_kept(document: Document):
    document.change("here", {"claims.toml": "# here\n"})
    (document.folder / "claims.toml").write_text("# there\n")
    outside = document.look_outside()
    assert outside.clashing == {"claims.toml": "claims.other-1.toml"}
    document.save()
    assert (document.folder / "claims.toml").read_text() == "# here\n"
    assert (document.folder / "claims.other-1.toml").read_text() == "# there\n"


def test_a_change_outside_while_closed_can_be_taken_back(document: Document):
    document.change("here", {"claims.toml": "# here\n"})
    document.close()
    (document.folder / "claims.toml").write_text("# while closed\n")
    again = reopened(document)
    assert again.texts["claims.toml"] == "# while closed\n"
    assert "another program" in again.undo()
    assert again.texts["claims.toml"] == "# here\n"
    document.journal = again.journal


def test_a_file_taken_away_outside_stays_away_and_comes_back_by_undo(document: Document):
    path = document.folder / "claims.toml"
    before = document.texts["claims.toml"]
    path.unlink()
    assert document.look_outside().changed == ("claims.toml",)
    document.save()
    assert "claims.toml" not in document.texts
    assert not path.exists()
    document.undo()
    document.save()
    assert path.read_text() == before


def test_a_file_taken_away_while_closed_is_not_brought_back_unasked(document: Document):
    document.change("here", {"essay.toml": document.texts["essay.toml"] + "# here\n"})
    document.close()
    (document.folder / "claims.toml").unlink()
    again = reopened(document)
    assert not (document.folder / "claims.toml").exists()
    assert "taken away by another program" in again.undo()
    assert "claims.toml" in again.texts
    document.journal = again.journal


lines = st.lists(st.sampled_from(["a\n", "b\n", "c\n", "d\n"]), max_size=6).map("".join)


@given(lines, lines)
def test_where_one_side_did_nothing_the_other_is_taken(base: str, other: str):
    assert merge(base, base, other) == other
    assert merge(base, other, base) == other
    assert merge(base, other, other) == other


class Full(FileIO):
    """A file on a disk with room for a few signs more."""

    def write(self, data: Any, /) -> int:
        return super().write(bytes(data)[:7])


def test_what_a_full_disk_refuses_is_not_in_the_journal_and_hides_nothing(tmp_path: Path) -> None:
    document = open_document(demo_essay(tmp_path / "tide"), lambda: 0.0)
    before, name = dict(document.texts), "essay.toml"
    room, document.journal.file = document.journal.file, Full(document.journal.path, "ab")
    with pytest.raises(OSError, match=os.strerror(errno.ENOSPC)):
        document.change("refused", {name: "title = 'Refused'\n"})
    document.journal.file.close()
    document.journal.file = room
    assert document.texts == before
    document.change("kept", {name: "title = 'Kept'\n"})
    document.close()
    history = read_journal(document.folder)
    assert history is not None
    assert [step.label for step in history.steps] == ["kept"]
