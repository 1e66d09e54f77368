"""Reading MusicXML against a bare XML parse, timed in turn; and how reading grows with size.

Run from the repository: python -m bench.read_musicxml
"""

from functools import partial
from math import log
from resource import RUSAGE_SELF, getrusage

from bench.timing import machine, median_seconds, ratio
from lxml import etree

from riffract.formats.musicxml import read_musicxml

SIZES = (300, 2_000, 20_000, 100_000)
NOTES_A_BAR = 20
OPEN_STRINGS = (("E", 2), ("A", 2), ("D", 3), ("G", 3), ("B", 3), ("E", 4))
FIRST_ATTRIBUTES = (
    "<attributes>\n<divisions>12</divisions>\n<key><fifths>0</fifths></key>\n"
    "<time><beats>4</beats><beat-type>4</beat-type></time>\n"
    "<clef><sign>TAB</sign><line>5</line></clef>\n"
    "<staff-details><staff-lines>6</staff-lines>\n{tuning}</staff-details>\n</attributes>\n"
    "<direction><direction-type><metronome><beat-unit>quarter</beat-unit>"
    "<per-minute>120</per-minute></metronome></direction-type>"
    '<sound tempo="120"/></direction>\n'
)
PITCHES = (("E", 0, 2), ("F", 0, 2), ("F", 1, 2), ("G", 0, 2), ("B", 0, 2), ("C", 0, 3))
PLACES = ((6, 0), (6, 1), (6, 2), (6, 3), (5, 2), (5, 3))
TRIPLET = (
    "<time-modification><actual-notes>3</actual-notes><normal-notes>2</normal-notes>"
    "</time-modification>\n"
)
MUTED = "<play><mute>palm</mute></play>\n"


def note_text(index: int, ticks: int, kind: str, *, chord: bool = False) -> str:
    """Write a note as exporters do: pitch, value, stem, string and fret, now and then a sign."""
    step, alter, octave = PITCHES[index % 6]
    string, fret = PLACES[index % 6]
    tie = ""
    if chord:
        step, alter, octave, string, fret = "A", 0, 3, 4, 7
    signs = '<hammer-on type="stop" number="1"/>' if index % 9 == 4 and not chord else ""
    return (
        "<note>\n"
        + ("<chord/>\n" if chord else "")
        + f"<pitch>\n<step>{step}</step>\n"
        + (f"<alter>{alter}</alter>\n" if alter else "")
        + f"<octave>{octave}</octave>\n</pitch>\n<duration>{ticks}</duration>\n{tie}"
        f"<voice>1</voice>\n<type>{kind}</type>\n"
        + (TRIPLET if ticks == 4 else "")
        + "<stem>down</stem>\n<notations>\n<technical>\n"
        f"{signs}<string>{string}</string>\n<fret>{fret}</fret>\n</technical>\n</notations>\n"
        + (MUTED if index % 3 == 0 else "")
        + "</note>\n"
    )


def bar_text(bar: int) -> str:
    """Write a bar of 20 notes: eighths, sixteenths, triplets and chords."""
    notes = [note_text(bar + i, 6, "eighth") for i in range(2)]
    notes += [note_text(bar + i, 3, "16th") for i in range(4)]
    for i in range(3):
        notes += [note_text(bar + i, 4, "eighth"), note_text(bar + i, 4, "eighth", chord=True)]
    for i in range(4):
        notes += [note_text(bar + i, 3, "16th"), note_text(bar + i, 3, "16th", chord=True)]
    return "".join(notes)


def score_text(note_count: int) -> bytes:
    """Write a score of about that many notes."""
    tuning = "".join(
        f'<staff-tuning line="{line}"><tuning-step>{step}</tuning-step>'
        f"<tuning-octave>{octave}</tuning-octave></staff-tuning>\n"
        for line, (step, octave) in enumerate(OPEN_STRINGS, start=1)
    )
    bars = (
        f'<measure number="{bar}">\n'
        + (FIRST_ATTRIBUTES.format(tuning=tuning) if bar == 1 else "")
        + bar_text(bar)
        + "</measure>\n"
        for bar in range(1, note_count // NOTES_A_BAR + 1)
    )
    return (
        '<?xml version="1.0" encoding="UTF-8"?>\n<score-partwise version="4.0">\n'
        '<part-list><score-part id="P1"><part-name>Guitar</part-name></score-part></part-list>\n'
        f'<part id="P1">\n{"".join(bars)}</part>\n</score-partwise>\n'
    ).encode()


def main() -> None:
    print(machine())
    times: list[float] = []
    for size in SIZES:
        data = score_text(size)
        result = read_musicxml(data)
        assert result.passage is not None, result.problems[:3]
        notes = len(result.passage.notes)
        rounds = max(3, min(15, 20_000 // size))
        read = partial(read_musicxml, data)
        against_parse = ratio(read, partial(etree.fromstring, data), rounds=rounds)
        took = median_seconds(read, rounds=rounds)
        times.append(took)
        print(
            f"{notes:7d} notes, {len(data) / 2**20:5.1f} MiB: {took:7.3f} s, "
            f"{notes / took:7.0f} notes a second, {against_parse:5.1f} x parsing the XML"
        )
    growth = log(times[-1] / times[1]) / log(SIZES[-1] / SIZES[1])
    print(f"growth exponent from {SIZES[1]} to {SIZES[-1]} notes: {growth:.2f}")
    print(f"most memory held: {getrusage(RUSAGE_SELF).ru_maxrss / 2**10:.0f} MiB")


if __name__ == "__main__":
    main()
