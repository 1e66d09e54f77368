"""A note that sounds at another moment is told once, with how far it is off.

The recording is synthesised by the verdicts' test: it shares nothing with the code that listens.
"""

from dataclasses import replace
from fractions import Fraction

import pytest
from hypothesis import given
from hypothesis import strategies as st
from tests.making import passage
from tests.sound.test_sound_support_verdicts import aligned, recording_of

from riffract.analysis.spelling import names_in
from riffract.music import NoteTableBuilder, Passage
from riffract.publish.doubt_words import rival_words
from riffract.sound.support import (
    NoteSupport,
    Rival,
    RivalKind,
    Support,
    UnwrittenNote,
    moved,
    support,
)

HALF = Fraction(1, 2)


def shifted(music: Passage, index: int, by: Fraction) -> Passage:
    """Write one note at another moment, no longer than half a quarter."""
    rows = [
        replace(n, onset_quarters=n.onset_quarters + by, duration_quarters=HALF,
                ring_end_quarters=n.onset_quarters + by + HALF)
        if n.index == index else n
        for n in music.notes
    ]  # fmt: skip
    builder = NoteTableBuilder()
    for n in sorted(rows, key=lambda n: (n.onset_quarters, -n.string)):
        builder.add(
            onset_quarters=n.onset_quarters, duration_quarters=n.duration_quarters,
            string=n.string, fret=n.fret, pitch=n.pitch, ring_end_quarters=n.ring_end_quarters,
        )  # fmt: skip
    return replace(music, notes=builder.build())


@pytest.mark.parametrize("reach", [HALF, Fraction(1), Fraction(2)])
@pytest.mark.parametrize("by", [HALF, -HALF])
def test_a_note_written_off_its_place_is_told_once(
    by: Fraction, reach: Fraction, monkeypatch: pytest.MonkeyPatch
) -> None:
    """Half and double the reach tell the same."""
    monkeypatch.setattr(moved, "MOVED_QUARTERS", reach)
    music = shifted(passage([(45, 1), ((45, 55), 1), (48, 1), (50, 1)]), 2, Fraction(0))
    text = shifted(music, 2, by)
    (place,) = [n.index for n in text.notes if n.pitch == 55]
    report = support(text, aligned(text), recording_of(music))
    rival = report.notes[place].rival
    assert rival is not None
    assert (rival.kind, rival.shift_quarters) == (RivalKind.ABSENT, -by)
    assert report.unwritten == ()
    way = "earlier" if by > 0 else "later"
    assert rival_words(text.notes[place], rival, names_in(text)).endswith(
        f"sounds half a quarter {way}"
    )


@given(
    st.lists(st.tuples(st.integers(0, 12), st.sampled_from([45, 47])), max_size=6, unique=True),
    st.lists(st.sampled_from(list(Support)), min_size=4, max_size=4),
)
def test_nothing_is_lost_or_used_twice(places: list[tuple[int, int]], words: list[Support]) -> None:
    music = passage([(45, 1), (47, 1), (45, 1), (47, 1)])
    unwritten = tuple(
        UnwrittenNote(quarters=q * HALF, seconds=float(q), pitch=p, string=5, fret=0, evidence=2.0)
        for q, p in sorted(places)
    )
    verdicts = tuple(
        NoteSupport(note=k, support=w, evidence=-1.0, rival=Rival(kind=RivalKind.ABSENT))
        for k, w in enumerate(words)
    )
    told, left = moved.with_moved(music, verdicts, unwritten)
    shifts = [v.rival.shift_quarters for v in told if v.rival is not None]
    assert [(v.note, v.support, v.evidence) for v in told] == [
        (v.note, v.support, v.evidence) for v in verdicts
    ]
    gone = {(u.quarters, u.pitch) for u in unwritten} - {(u.quarters, u.pitch) for u in left}
    assert gone == {
        (music.notes[v.note].onset_quarters + s, music.notes[v.note].pitch)
        for v, s in zip(told, shifts, strict=True)
        if s is not None
    }
    assert len(unwritten) - len(left) == sum(s is not None for s in shifts)
    assert all(
        s is None or (v.support is Support.CONTRADICTED and 0 < abs(s) <= moved.MOVED_QUARTERS)
        for v, s in zip(told, shifts, strict=True)
    )
