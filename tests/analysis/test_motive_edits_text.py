"""What differs in a return is named note by note: where, what is found, what was expected."""

from tests.analysis.test_motives import line
from tests.making import Spelled

from riffract.analysis.motives.find import find_motives
from riffract.analysis.motives.search import Search

IDEA: list[Spelled] = [(48 + step, "1/2") for step in (0, 7, 3, 10, 2, 9, 5, 11, 1, 8, 4, 6)]


def detail_of(back: list[Spelled]) -> str:
    search = Search([line(IDEA, number=-1, title="Seed")], line(back))
    return find_motives([search], [])[0].finding.detail


def test_a_changed_note_is_named_with_the_one_expected():
    back: list[Spelled] = [(int(str(p)) + 2, v) for p, v in IDEA]
    back[5] = (60, "1/2")
    assert "It differs: bar 1, beat 3.5, C4 for B3." in detail_of(back)


def test_a_note_left_out_is_named_where_the_source_has_it():
    assert "bar 1, beat 3.5 of Seed, A3 left out." in detail_of([*IDEA[:5], *IDEA[6:]])


def test_a_note_put_in_is_named_where_it_comes():
    assert "bar 1, beat 3.5, E4 put in." in detail_of([*IDEA[:5], (64, "1/2"), *IDEA[5:]])


def test_nothing_differs_in_a_plain_return():
    assert "It differs" not in detail_of([(int(str(p)) + 2, v) for p, v in IDEA])
