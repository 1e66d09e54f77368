"""When a string stops sounding."""

from fractions import Fraction

from hypothesis import given
from hypothesis import strategies as st

from riffract.formats.ringing import Struck, ring_ends
from riffract.music import Technique
from riffract.music.notes import PLAIN

END = Fraction(16)


def struck(
    onset: float,
    length: float,
    string: int,
    techniques: Technique = PLAIN,
    until: float | None = None,
) -> Struck[Fraction]:
    return Struck(
        onset=Fraction(onset),
        end=Fraction(onset) + Fraction(length),
        string=string,
        techniques=techniques,
        let_ring_end=None if until is None else Fraction(until),
    )


def test_a_plain_note_stops_with_its_written_value() -> None:
    assert ring_ends([struck(0, 1, 3)], END) == [1]


def test_let_ring_lasts_to_the_end_of_the_passage_if_no_end_is_written() -> None:
    assert ring_ends([struck(0, 1, 3, Technique.LET_RING)], END) == [16]


def test_let_ring_lasts_to_the_end_of_its_sign() -> None:
    assert ring_ends([struck(0, 1, 3, Technique.LET_RING, until=4)], END) == [4]


def test_let_ring_lasts_at_least_for_the_written_value() -> None:
    assert ring_ends([struck(0, 6, 3, Technique.LET_RING, until=4)], END) == [6]


def test_the_next_note_on_the_same_string_stops_a_ringing_one() -> None:
    notes = [struck(0, 1, 3, Technique.LET_RING), struck(1, 1, 2), struck(3, 1, 3)]
    assert ring_ends(notes, END) == [3, 2, 4]


def test_the_next_note_on_the_same_string_stops_even_a_longer_written_value() -> None:
    assert ring_ends([struck(0, 4, 6), struck(1, 1, 6)], END) == [1, 2]


def test_palm_muted_and_dead_notes_never_ring_on() -> None:
    notes = [
        struck(0, 1, 6, Technique.LET_RING | Technique.PALM_MUTE),
        struck(0, 1, 5, Technique.LET_RING | Technique.DEAD),
    ]
    assert ring_ends(notes, END) == [1, 1]


rows = st.lists(
    st.tuples(
        st.integers(0, 15),
        st.integers(1, 8),
        st.integers(1, 3),
        st.sampled_from([Technique(0), Technique.LET_RING, Technique.PALM_MUTE]),
        st.none() | st.integers(0, 16),
    ),
    max_size=20,
    unique_by=lambda row: (row[0], row[2]),
)


@given(rows)
def test_no_note_sounds_past_the_next_one_on_its_string(
    rows: list[tuple[int, int, int, Technique, int | None]],
) -> None:
    notes = [struck(*row) for row in rows]
    for note, end in zip(notes, ring_ends(notes, END), strict=True):
        later = [n.onset for n in notes if n.string == note.string and n.onset > note.onset]
        assert note.onset < end <= min(later, default=Fraction(99))


def test_what_is_said_outright_goes_before_let_ring_but_not_past_the_next_note() -> None:
    # W3C MusicXML 4.0, `note`: `release` alters "the stopping time of the note from when it would
    # otherwise occur".
    def ends(stop: Fraction) -> list[Fraction]:
        first = Struck(
            onset=Fraction(1),
            end=Fraction(2),
            string=3,
            techniques=Technique.LET_RING,
            stop=stop,
        )
        second = Struck(
            onset=Fraction(4),
            end=Fraction(5),
            string=3,
            techniques=Technique(0),
        )
        return ring_ends([first, second], Fraction(8))

    assert ends(Fraction(3)) == [3, 5]
    assert ends(Fraction(3, 2)) == [Fraction(3, 2), 5]
    assert ends(Fraction(7)) == [4, 5]
    assert ends(Fraction(1)) == [4, 5]
