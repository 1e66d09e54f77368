"""Beams that show the metre's groups."""

from collections import Counter
from collections.abc import Iterator, Sequence
from fractions import Fraction
from itertools import groupby, pairwise
from typing import Final, NamedTuple

from lxml import etree
from lxml.etree import _Element as Element

from riffract.formats.musicxml.writing.bar_edges import bar_edges
from riffract.music import Bar
from riffract.publish.staff.written_notes import WrittenNote, insert_beam, written_notes

_BEAMS: Final = {"eighth": 1, "16th": 2, "32nd": 3, "64th": 4, "128th": 5, "256th": 6}


class BeamedNote(NamedTuple):
    """What beaming needs to know of a chord or rest.

    Attributes:
        at_quarters: from the start of the bar.
        length_quarters: of the written note.
        beams: how many beams its value asks for; 0 for quarters and longer ones, and for rests.
        tuplet: which tuplet of the voice it stands in, from 1; 0 for none.
    """

    at_quarters: Fraction
    length_quarters: Fraction
    beams: int
    tuplet: int = 0


def beamed_runs(
    notes: Sequence[BeamedNote], edges: Sequence[Fraction]
) -> tuple[tuple[int, ...], ...]:
    """Tell which notes of a voice share a beam, by place; each run has two or more.

    A beam joins notes that follow at once, are shorter than a quarter and start in one group; a
    rest, a longer note or a gap ends it. A tuplet that lies over an edge has a beam of its own, and
    no beam joins a part of a tuplet with what stands outside.
    """
    keys = _run_keys(notes, edges)
    stretches = groupby(range(len(notes)), key=keys.__getitem__)
    runs = (tuple(places) for key, places in stretches if key is not None)
    unbroken = (part for run in runs for part in _without_gaps(notes, run))
    parts = (part for run in unbroken for part in _with_whole_tuplets(notes, run))
    return tuple(part for part in parts if len(part) > 1)


def _run_keys(
    notes: Sequence[BeamedNote], edges: Sequence[Fraction]
) -> list[tuple[int, int] | None]:
    """Give for each note the group that it can be beamed in; `None` if it has no beam.

    A group is that of an edge, or of a tuplet over one.
    """
    groups = [sum(edge <= note.at_quarters for edge in edges) for note in notes]
    reached: dict[int, set[int]] = {}
    for note, group in zip(notes, groups, strict=True):
        reached.setdefault(note.tuplet, set()).add(group)
    return [
        None
        if not note.beams
        else (0, note.tuplet)
        if note.tuplet and len(reached[note.tuplet]) > 1
        else (group, 0)
        for note, group in zip(notes, groups, strict=True)
    ]


def _with_whole_tuplets(
    notes: Sequence[BeamedNote], run: tuple[int, ...]
) -> Iterator[tuple[int, ...]]:
    """Cut a run at the ends of its tuplets if one of them is not in it as a whole."""
    inside = Counter(notes[place].tuplet for place in run)
    whole = Counter(note.tuplet for note in notes)
    if all(count == whole[tuplet] for tuplet, count in inside.items() if tuplet):
        yield run
    else:
        yield from (tuple(part) for _, part in groupby(run, key=lambda place: notes[place].tuplet))


def _without_gaps(notes: Sequence[BeamedNote], run: tuple[int, ...]) -> Iterator[tuple[int, ...]]:
    start = 0
    for cut, (before, after) in enumerate(pairwise(run), start=1):
        end_quarters = notes[before].at_quarters + notes[before].length_quarters
        if end_quarters != notes[after].at_quarters:
            yield run[start:cut]
            start = cut
    yield run[start:]


def beam_words(beams: Sequence[int]) -> tuple[tuple[str, ...], ...]:
    """Say what each beam of a run does at each of its notes, as MusicXML words it.

    Args:
        beams: how many beams each note of the run has.

    Returns:
        For each note, from the beam next to the notes' ends inwards: `begin`, `continue`, `end`,
        or a hook for a short beam that no neighbour shares: it points into the run.

    Source: MusicXML 4.0, `beam`.

    >>> beam_words([1, 2, 2])
    (('begin',), ('continue', 'begin'), ('end', 'end'))
    >>> beam_words([1, 2])
    (('begin',), ('end', 'backward hook'))
    """
    return tuple(
        tuple(_beam_word(beams, place, level) for level in range(1, count + 1))
        for place, count in enumerate(beams)
    )


def _beam_word(beams: Sequence[int], place: int, level: int) -> str:
    from_before = place > 0 and beams[place - 1] >= level
    goes_on = place + 1 < len(beams) and beams[place + 1] >= level
    if from_before:
        return "continue" if goes_on else "end"
    if goes_on:
        return "begin"
    return "forward hook" if place == 0 else "backward hook"


def write_beams(measure: Element, bar: Bar, divisions: int) -> None:
    """Add beams to the notes of a bar, voice by voice; graces get none."""
    edges = bar_edges(bar).groups
    voices: dict[str, list[WrittenNote]] = {}
    for note in written_notes(measure, divisions):
        if not note.joins_chord and not note.is_grace:
            voices.setdefault(note.voice, []).append(note)
    for notes in voices.values():
        beamed = list(_beamed(notes))
        for run in beamed_runs(beamed, edges):
            words = beam_words([beamed[place].beams for place in run])
            for place, said in zip(run, words, strict=True):
                _write(notes[place].tag, said)


def _beamed(notes: Sequence[WrittenNote]) -> Iterator[BeamedNote]:
    tuplets, is_inside = 0, False
    for note in notes:
        brackets = {tag.get("type") for tag in note.tag.iterfind("notations/tuplet")}
        if "start" in brackets:
            tuplets, is_inside = tuplets + 1, True
        beams = 0 if note.is_rest else _BEAMS.get(note.tag.findtext("type", ""), 0)
        if {"start", "stop"} <= brackets:
            # a beam that starts with such a tuplet would be taken to lie inside it
            beams = 0
        tuplet = tuplets if is_inside else 0
        yield BeamedNote(note.at_quarters, note.length_quarters, beams, tuplet)
        is_inside = is_inside and "stop" not in brackets


def _write(note: Element, said: Sequence[str]) -> None:
    for number, word in enumerate(said, start=1):
        beam = etree.Element("beam", number=str(number))
        beam.text = word
        insert_beam(note, beam)
