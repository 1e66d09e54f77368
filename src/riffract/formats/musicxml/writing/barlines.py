"""Repeats and endings on bar lines."""

from lxml.etree import _Element as Element

from riffract.formats.folding import RepeatSigns
from riffract.formats.musicxml.writing.tags import append_filled, child, loose


def write_left_barline(measure: Element, signs: RepeatSigns, *, starts_ending: bool) -> None:
    """Add the signs in front of a bar, if there are any."""
    barline = loose("barline")
    barline.set("location", "left")
    if signs.opens:
        child(barline, "bar-style", "heavy-light")
    if starts_ending:
        child(barline, "ending", number=_numbers(signs), type="start")
    if signs.opens:
        child(barline, "repeat", direction="forward")
    append_filled(measure, barline)


def write_right_barline(
    measure: Element, signs: RepeatSigns, *, is_last: bool, has_fermata: bool
) -> None:
    """Add the signs behind a bar, or the line that ends the music.

    Source: MusicXML 4.0, `repeat`: `times` is for repeats without endings only; `ending`: an
    ending without a downward jog is discontinued.
    """
    barline = loose("barline")
    barline.set("location", "right")
    if signs.times or is_last:
        child(barline, "bar-style", "light-heavy")
    if has_fermata:
        child(barline, "fermata")
    if signs.ends_ending:
        kind = "stop" if signs.times else "discontinue"
        child(barline, "ending", number=_numbers(signs), type=kind)
    if signs.times:
        repeat = child(barline, "repeat", direction="backward")
        if not signs.endings and signs.times > 2:
            repeat.set("times", str(signs.times))
    append_filled(measure, barline)


def starts_ending(signs: RepeatSigns, before: RepeatSigns) -> bool:
    """Whether a bar is the first one under its ending."""
    return bool(signs.endings) and (before.ends_ending or before.endings != signs.endings)


def _numbers(signs: RepeatSigns) -> str:
    return ",".join(map(str, signs.endings))
