"""Intervals in words."""

from typing import Final

from riffract.analysis.saying import say, say_count

SIMPLE: Final = (
    "unison",
    "semitone",
    "whole tone",
    "minor third",
    "major third",
    "fourth",
    "tritone",
    "fifth",
    "minor sixth",
    "major sixth",
    "minor seventh",
    "major seventh",
)
OCTAVES: Final = ("", "octave", "two octaves", "three octaves", "four octaves", "five octaves")


def interval_name(semitones: int) -> str:
    """Name an interval without its direction; beyond the octave as octaves and a rest.

    A tenth is called "octave and major third": the listener hears how far apart, and which colour.

    Source: common practice; the tritone keeps its name in either spelling.

    >>> [interval_name(n) for n in (0, -6, 12, 16, 31)]
    ['unison', 'tritone', 'octave', 'octave and major third', 'two octaves and fifth']
    """
    octaves, rest = divmod(abs(semitones), 12)
    octave = _octaves(octaves) if octaves else ""
    simple = say(SIMPLE[rest]) if rest or not octaves else ""
    return say(" and ").join(part for part in (octave, simple) if part)


def colour_name(semitones: int) -> str:
    """Name where a pitch lies, seen from another one.

    Args:
        semitones: from the other pitch to this one; negative when this one is lower.

    >>> [colour_name(n) for n in (-4, 0, 6, 14)]
    ['major third below', 'unison', 'tritone above', 'octave and whole tone above']
    """
    if semitones == 0:
        return interval_name(0)
    name = interval_name(semitones)
    return (
        say("{interval} above", interval=name)
        if semitones > 0
        else say("{interval} below", interval=name)
    )


def with_article(semitones: int) -> str:
    """Name an interval as it stands in a sentence.

    >>> [with_article(n) for n in (1, 12, 15, 24)]
    ['a semitone', 'an octave', 'an octave and a minor third', 'two octaves']
    """
    octaves, rest = divmod(abs(semitones), 12)
    octave = say("an octave") if octaves == 1 else _octaves(octaves) if octaves else ""
    simple = say(f"a {SIMPLE[rest]}") if rest or not octaves else ""
    return say(" and ").join(part for part in (octave, simple) if part)


def colour_in_sentence(semitones: int) -> str:
    """Name where a pitch lies, seen from another one, as it stands in a sentence.

    >>> [colour_in_sentence(n) for n in (0, -1, 12)]
    ['in unison with it', 'a semitone below it', 'an octave above it']
    """
    if semitones == 0:
        return say("in unison with it")
    name = with_article(semitones)
    if semitones > 0:
        return say("{interval} above it", interval=name)
    return say("{interval} below it", interval=name)


def moved_in_words(semitones: int) -> str:
    """Say how far something is moved, as it stands in a sentence.

    >>> moved_in_words(7), moved_in_words(-2)
    ('a fifth higher', 'a whole tone lower')
    """
    name = with_article(semitones)
    if semitones > 0:
        return say("{interval} higher", interval=name)
    return say("{interval} lower", interval=name)


def _octaves(count: int) -> str:
    if count < len(OCTAVES):
        return say(OCTAVES[count])
    return say_count(count, "{count} octave", "{count} octaves")
