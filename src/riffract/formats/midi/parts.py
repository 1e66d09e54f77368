"""The parts of a file: which tracks and channels belong to one instrument."""

import re
from collections import Counter
from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass, replace
from difflib import get_close_matches
from itertools import groupby
from typing import Final

from riffract.formats.midi.conductor import name_of, texts_of
from riffract.formats.midi.events import Track
from riffract.formats.midi.file import MidiFile
from riffract.formats.midi.keys import CHANNELS, Key, Keys
from riffract.formats.midi.report import Report
from riffract.formats.midi.sayings import Sayings, sayings_of
from riffract.formats.midi.strings import string_channels
from riffract.music import Tuning

GUITARS: Final = range(24, 32)
BASSES: Final = range(32, 40)
"""Programs from 0. Source: General MIDI 1, sound set."""

FEWEST_STRING_TRACKS: Final = 4
MOST_SHOWN: Final = 8

_GUITAR_NAME: Final = re.compile(r"guitar|gtr|git", re.IGNORECASE)
_NUMBER: Final = re.compile(r"[\s\-_.(#]*\d+[\s).]*")


@dataclass(frozen=True, slots=True, kw_only=True)
class Part:
    """What one instrument plays.

    Attributes:
        name: to choose it by.
        keys: by start.
        program: its sound from 0, if the file says one.
        sayings: what the text events of its tracks say.
        tracks: indices of its tracks.
    """

    name: str
    keys: tuple[Key, ...]
    program: int | None
    sayings: Sayings
    tracks: tuple[int, ...]

    @property
    def is_bass(self) -> bool:
        """Whether its sound is that of a bass."""
        return self.program in BASSES

    @property
    def rank(self) -> int:
        """How sure it is a guitar: the lower the surer."""
        if self.sayings.tuning is not None:
            return 0
        if self.program in GUITARS:
            return 1
        if _GUITAR_NAME.search(self.name):
            return 2
        return 3 if self.is_bass else 4


def parts_of(file: MidiFile, keys: Keys, tuning: Tuning | None) -> tuple[Part, ...]:
    """Tell the parts apart; drums are none.

    A track is a part; one whose channels have different sounds is a part for each sound. In a file
    of one track, each channel is a part. But channels of one sound that are strings (see
    `string_channels`) are one part, and so are four or more tracks in a row, if their names differ
    by a number at most, they have a channel each, and these are strings.

    Args:
        file: the tracks.
        keys: what they play.
        tuning: the strings, if the caller knows them.
    """
    played = [key for key in keys.keys if not key.is_drum]
    by_track: dict[int, list[Key]] = {}
    for key in played:
        by_track.setdefault(key.track, []).append(key)
    parts = [
        part
        for track in sorted(by_track)
        for part in _parts_of_track(file, track, by_track[track], keys.programs, tuning)
    ]
    return _with_names_of_their_own(_with_string_tracks_joined(parts, tuning))


def _parts_of_track(
    file: MidiFile,
    index: int,
    keys: Sequence[Key],
    programs: Mapping[int, int],
    tuning: Tuning | None,
) -> list[Part]:
    track = file.tracks[index]
    by_program: dict[int | None, list[Key]] = {}
    for key in keys:
        by_program.setdefault(programs.get(key.channel), []).append(key)
    groups: list[list[Key]] = []
    for program, group in by_program.items():
        said = sayings_of(texts_of(track))
        is_one = (
            file.format
            or said.has_string_channels
            or string_channels(group, tuning or said.tuning, is_bass=program in BASSES)
        )
        groups += [group] if is_one else _by_channel(group)
    groups.sort(key=lambda group: min(key.channel for key in group))
    return [_part(index, track, group, programs, is_alone=len(groups) == 1) for group in groups]


def _by_channel(keys: Iterable[Key]) -> list[list[Key]]:
    by_channel: dict[int, list[Key]] = {}
    for key in keys:
        by_channel.setdefault(key.channel, []).append(key)
    return [by_channel[channel] for channel in sorted(by_channel)]


def _part(
    index: int, track: Track, keys: Sequence[Key], programs: Mapping[int, int], *, is_alone: bool
) -> Part:
    channel = min(key.channel for key in keys)
    name = name_of(track)
    if not is_alone:
        number = channel % CHANNELS + 1
        name = f"{name}, channel {number}" if name else f"Channel {number}"
    return Part(
        name=name or f"Track {index + 1}",
        keys=tuple(keys),
        program=programs.get(channel),
        sayings=sayings_of(texts_of(track)),
        tracks=(index,),
    )


def _with_string_tracks_joined(parts: Sequence[Part], tuning: Tuning | None) -> list[Part]:
    joined: list[Part] = []
    for (name, _), row in groupby(parts, key=lambda part: (_bare(part), part.program)):
        run = list(row)
        keys = tuple(sorted(key for part in run for key in part.keys))
        are_strings = (
            len(run) >= FEWEST_STRING_TRACKS
            and len({key.channel for key in keys}) == len(run)
            and string_channels(keys, tuning, is_bass=run[0].is_bass)
        )
        if are_strings:
            tracks = tuple(track for part in run for track in part.tracks)
            run = [replace(run[0], name=name or "Strings", keys=keys, tracks=tracks)]
        joined += run
    return joined


def _bare(part: Part) -> str:
    """Give a part's name without its number."""
    return _NUMBER.sub(" ", part.name).strip()


def _with_names_of_their_own(parts: Sequence[Part]) -> tuple[Part, ...]:
    seen: Counter[str] = Counter()
    named = []
    for part in parts:
        seen[part.name] += 1
        again = seen[part.name]
        named.append(part if again == 1 else replace(part, name=f"{part.name} ({again})"))
    return tuple(named)


def chosen_part(parts: Sequence[Part], wanted: str | None, report: Report) -> Part | None:
    """Choose the part that is asked for, else the one that is most surely a guitar, and say so."""
    names = [part.name for part in parts]
    if not parts:
        report.error(
            "the file holds no notes besides drums",
            "export a part with notes; channel 10 is the drums'",
        )
        return None
    if wanted is not None:
        for part in parts:
            if part.name.casefold() == wanted.strip().casefold():
                return part
        near = get_close_matches(wanted, names, n=1)
        report.error(
            f"there is no part {wanted!r}",
            f"ask for {near[0]!r}" if near else f"ask for one of {_listed(names)}",
        )
        return None
    chosen = min(parts, key=lambda part: part.rank)
    if len(parts) > 1:
        others = [name for name in names if name != chosen.name]
        report.warn(
            f"the file holds {len(parts)} parts; {chosen.name!r} is read, not {_listed(others)}",
            "ask for another part by its name if that is the wrong one",
        )
    return chosen


def _listed(names: Sequence[str]) -> str:
    shown = ", ".join(repr(name) for name in names[:MOST_SHOWN])
    rest = len(names) - MOST_SHOWN
    return f"{shown} and {rest} more" if rest > 0 else shown
