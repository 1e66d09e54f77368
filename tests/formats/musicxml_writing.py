"""Write small MusicXML scores for tests, tag by tag, in the words of the standard."""

from collections.abc import Sequence

from riffract.formats.musicxml import read_musicxml
from riffract.formats.problem import Problem, ReadResult
from riffract.music import Note, Passage

STANDARD = (40, 45, 50, 55, 59, 64)
SEVEN = (33, 40, 45, 50, 55, 59, 64)
_STEPS = ("C", "C#", "D", "D#", "E", "F", "F#", "G", "G#", "A", "A#", "B")


def pitch_tags(pitch: int, step: str = "step", alter: str = "alter", octave: str = "octave") -> str:
    """Write a MIDI pitch as step, alter and octave."""
    name = _STEPS[pitch % 12]
    altered = f"<{alter}>1</{alter}>" if "#" in name else ""
    return f"<{step}>{name[0]}</{step}>{altered}<{octave}>{pitch // 12 - 1}</{octave}>"


def note(
    string: int | None,
    fret: int | None,
    duration: float | str | None,
    *,
    tuning: Sequence[int] = STANDARD,
    written_up: int = 12,
    pitch: int | None = None,
    first: str = "",
    before: str = "",
    after: str = "",
    tied: str = "",
    technical: str = "",
    notations: str = "",
    opening: str = "",
) -> str:
    """Write a note; its written pitch is that of string and fret, `written_up` semitones higher.

    Args:
        first: tags in front of the pitch, such as `<chord/>`.
        before: tags between duration and notations (voice, type, dots ...).
        after: tags after notations (lyric, play).
    """
    if pitch is None and string is not None and fret is not None:
        pitch = tuning[-string] + fret + written_up
    place = "" if string is None else f"<string>{string}</string>"
    place += "" if fret is None else f"<fret>{fret}</fret>"
    both = f"<technical>{technical}{place}</technical>" if technical or place else ""
    length = "" if duration is None else f"<duration>{duration}</duration>"
    sounding = "" if pitch is None else f"<pitch>{pitch_tags(pitch)}</pitch>"
    return (
        f"<note{opening}>{first}{sounding}{length}{tied}{before}"
        f"<notations>{notations}{both}</notations>{after}</note>\n"
    )


def rest(duration: float, before: str = "") -> str:
    """Write a rest."""
    return f"<note><rest/><duration>{duration}</duration>{before}</note>\n"


def backup(duration: float) -> str:
    """Go back."""
    return f"<backup><duration>{duration}</duration></backup>\n"


def forward(duration: float) -> str:
    """Go forward."""
    return f"<forward><duration>{duration}</duration></forward>\n"


def time(beats: str = "4", beat_type: int = 4) -> str:
    """Write a time signature."""
    return f"<time><beats>{beats}</beats><beat-type>{beat_type}</beat-type></time>"


def staff_details(tuning: Sequence[int] = STANDARD, capo: int = 0, staff: int = 0) -> str:
    """Tune the lines of a tab from the bottom line up."""
    lines = "".join(
        f'<staff-tuning line="{line}">'
        f"{pitch_tags(pitch, 'tuning-step', 'tuning-alter', 'tuning-octave')}</staff-tuning>"
        for line, pitch in enumerate(tuning, start=1)
    )
    number = f' number="{staff}"' if staff else ""
    stopped = f"<capo>{capo}</capo>" if capo else ""
    return (
        f"<staff-details{number}><staff-lines>{len(tuning)}</staff-lines>{lines}{stopped}"
        "</staff-details>"
    )


OCTAVE_DOWN = "<transpose><chromatic>0</chromatic><octave-change>-1</octave-change></transpose>"


def attributes(
    *,
    divisions: float | str = 4,
    signature: str | None = None,
    tuning: Sequence[int] | None = STANDARD,
    transpose: str = OCTAVE_DOWN,
    capo: int = 0,
    more: str = "",
) -> str:
    """Write the attributes of a tab part."""
    details = "" if tuning is None else staff_details(tuning, capo)
    signature = time() if signature is None else signature
    return (
        f"<attributes><divisions>{divisions}</divisions>{signature}"
        f"<clef><sign>TAB</sign><line>5</line></clef>{details}{transpose}{more}</attributes>\n"
    )


TEMPO = '<sound tempo="120"/>\n'


def score(*bars: str, start: str | None = None, head: str = "", tempo: str = TEMPO) -> bytes:
    """Write a score of one part; each bar is the text inside a `measure`.

    A bar may start with `@` and a line of attributes of the measure tag.
    """
    start = attributes() if start is None else start
    texts = []
    for number, text in enumerate(bars, start=1):
        opening, bar = f'number="{number}"', text
        if text.startswith("@"):
            opening, bar = text[1:].split("\n", 1)
        lead = start + tempo if number == 1 else ""
        texts.append(f"<measure {opening}>\n{lead}{bar}</measure>\n")
    return part_score("".join(texts), head=head)


def part_score(measures: str, head: str = "") -> bytes:
    """Put measures into a score of one part."""
    return (
        '<?xml version="1.0" encoding="UTF-8"?>\n<score-partwise version="4.0">\n'
        f'{head}<part-list><score-part id="P1"><part-name>Guitar</part-name></score-part>'
        f'</part-list>\n<part id="P1">\n{measures}</part>\n</score-partwise>\n'
    ).encode()


def passage_in(data: bytes, *, part: str | None = None) -> Passage:
    """Read a score that must be readable."""
    result = read_musicxml(data, source="test.musicxml", part=part)
    assert result.passage is not None, [p.text("test") for p in result.problems]
    return result.passage


def notes_in(data: bytes) -> list[Note]:
    """Read the notes of a score that must be readable."""
    return list(passage_in(data).notes)


def rows_in(data: bytes, *names: str) -> list[tuple[object, ...]]:
    """Read some attributes of each note of a score that must be readable."""
    return [tuple(getattr(n, name) for name in names) for n in notes_in(data)]


def problem_about(result: ReadResult, words: str) -> Problem:
    """Give the one problem whose text holds some words."""
    found = [p for p in result.problems if words in p.what]
    assert len(found) == 1, [p.what for p in result.problems]
    return found[0]
