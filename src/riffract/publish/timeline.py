"""The timeline: shots, sound, captions and overlay where they belong, for an editing program.

OpenTimelineIO's JSON, by its published schemas Timeline.1, Stack.1, Track.1, Clip.2, Gap.1,
Marker.2, ExternalReference.1, ImageSequenceReference.1, MissingReference.1, RationalTime.1 and
TimeRange.1. Times are whole numbers of frames, those of captions whole milliseconds, so nothing is
rounded; files are named from the folder that the timeline is in.

Source: OpenTimelineIO, "File Format Specification" and "Serialized Data Schemas".
"""

import json
from collections.abc import Collection, Iterator, Sequence
from dataclasses import dataclass
from pathlib import Path
from typing import Final, TypeAlias
from urllib.parse import quote

from riffract.essay.shots import Shot
from riffract.essay.soundtrack import Layer
from riffract.publish.captions import Cue
from riffract.publish.chapters import Chapter
from riffract.publish.film.overlay import OverlayKind, is_whole, overlay_name
from riffract.publish.film.writing import moments
from riffract.publish.parts import FILM_FILE, OVERLAY_FOLDER
from riffract.publish.stem_stretches import Stretch, stretches
from riffract.publish.stems_part import stem_name, stems_in

Node: TypeAlias = dict[str, object]

_MS: Final = 1000
_MEDIA: Final = "DEFAULT_MEDIA"


@dataclass(frozen=True, slots=True, kw_only=True)
class Media:
    """The files that are there to be cut, named from the timeline's folder.

    Attributes:
        film: with sound; `None` if there is none.
        overlay_folder: holds the overlay; `None` if there is none, or not all of it.
        overlay: what the overlay is written as.
        stems: the layers of the sound that are there.
    """

    film: str | None
    overlay_folder: str | None = None
    overlay: OverlayKind = OverlayKind.PRORES
    stems: Collection[Layer] = ()


@dataclass(frozen=True, slots=True, kw_only=True)
class _Clip:
    """A shot's place: its first frame in the film, and how many it has."""

    shot: Shot
    first: int
    count: int


def media_in(folder: Path, overlay: OverlayKind) -> Media:
    """Tell what there is to cut in a folder of things that went out."""
    return Media(
        film=FILM_FILE if (folder / FILM_FILE).is_file() else None,
        overlay_folder=OVERLAY_FOLDER if is_whole(folder / OVERLAY_FOLDER, overlay) else None,
        overlay=overlay,
        stems=stems_in(folder),
    )


def timeline_text(
    title: str,
    shots: Sequence[Shot],
    cues: Sequence[Cue],
    chapter_list: Sequence[Chapter],
    media: Media,
    *,
    frames_a_second: int,
) -> str:
    """Write a film as a timeline of tracks: picture, overlay, sound and its stems.

    Captions are markers on the clips, chapters on the whole. The overlay is switched off, since
    the film's own picture holds the same marks; with a picture of one's own it is switched on. If
    there are stems, it is the film's own sound that is switched off: they are the same.

    Args:
        title: of the timeline.
        shots: in order; one without a frame is left out.
        cues: captions, by time.
        chapter_list: by time; may be empty.
        media: what there is to cut. A film that is not there is a missing reference.
        frames_a_second: of the picture.
    """
    clips = list(_clips(shots, frames_a_second))
    rate = frames_a_second
    tracks = [
        _track("picture", "Video", [_film_clip(c, clips, media, cues, rate) for c in clips]),
        _track(
            "sound",
            "Audio",
            [_film_clip(c, clips, media, (), rate) for c in clips],
            enabled=not media.stems,
        ),
        *_stem_tracks(shots, clips, media, rate),
    ]
    if media.overlay_folder is not None:
        overlay = [_overlay_clip(clip, media, rate) for clip in clips]
        tracks.insert(1, _track("overlay", "Video", overlay, enabled=False))
    timeline = {
        "OTIO_SCHEMA": "Timeline.1",
        "metadata": {},
        "name": title,
        "global_start_time": _time(0, rate),
        "tracks": _item("Stack.1", "tracks", markers=_chapter_markers(chapter_list))
        | {"children": tracks},
    }
    return json.dumps(timeline, ensure_ascii=False, indent=1) + "\n"


def _clips(shots: Sequence[Shot], frames_a_second: int) -> Iterator[_Clip]:
    own: dict[int, list[int]] = {}
    for moment in moments([shot.length_seconds for shot in shots], frames_a_second):
        own.setdefault(moment.reel, []).append(moment.index)
    for number, frames in own.items():
        yield _Clip(shot=shots[number], first=frames[0], count=len(frames))


def _film_clip(
    clip: _Clip, clips: Sequence[_Clip], media: Media, cues: Sequence[Cue], rate: int
) -> Node:
    """Take a shot out of the film; its own times count from the film's start."""
    whole = _range(0, clips[-1].first + clips[-1].count, rate)
    reference: Node = {"OTIO_SCHEMA": "MissingReference.1"}
    if media.film is not None:
        reference = {"OTIO_SCHEMA": "ExternalReference.1", "target_url": quote(media.film)}
    first, last = clip.first * _MS, (clip.first + clip.count) * _MS
    own = [cue for cue in cues if first <= cue.start_ms * rate < last]
    return _clip(
        clip,
        {**reference, **_reference_parts(whole)},
        _range(clip.first, clip.count, rate),
        markers=[_caption_marker(cue) for cue in own],
    )


def _overlay_clip(clip: _Clip, media: Media, rate: int) -> Node:
    whole = _range(0, clip.count, rate)
    name = f"{media.overlay_folder}/{overlay_name(clip.shot.name, media.overlay)}"
    reference: Node = {"OTIO_SCHEMA": "ExternalReference.1", "target_url": quote(name)}
    if media.overlay is OverlayKind.PNG:
        reference = {
            "OTIO_SCHEMA": "ImageSequenceReference.1",
            "target_url_base": quote(name),
            "name_prefix": "",
            "name_suffix": ".png",
            "start_frame": 0,
            "frame_step": 1,
            "rate": float(rate),
            "frame_zero_padding": 5,
            "missing_frame_policy": "error",
        }
    return _clip(clip, {**reference, **_reference_parts(whole)}, whole)


def _stem_tracks(
    shots: Sequence[Shot], clips: Sequence[_Clip], media: Media, rate: int
) -> Iterator[Node]:
    """Give each stem a track: a clip an excerpt or a take, with gaps where it is silent."""
    frames = clips[-1].first + clips[-1].count
    for layer in sorted(media.stems, key=list(Layer).index):
        own = stretches(shots, layer, media.stems, frames=frames, rate=rate)
        yield _track(layer, "Audio", list(_with_gaps(own, layer, frames=frames, rate=rate)))


def _with_gaps(own: Sequence[Stretch], layer: Layer, *, frames: int, rate: int) -> Iterator[Node]:
    at = 0
    for stretch in own:
        if stretch.first > at:
            yield _gap(stretch.first - at, rate)
        yield _stem_clip(stretch, layer, frames=frames, rate=rate)
        at = stretch.first + stretch.count
    if at < frames:
        yield _gap(frames - at, rate)


def _gap(count: int, rate: int) -> Node:
    return _item("Gap.1", "", source=_range(0, count, rate))


def _stem_clip(stretch: Stretch, layer: Layer, *, frames: int, rate: int) -> Node:
    """Take a stretch out of a stem, which is as long as the film."""
    reference = {"OTIO_SCHEMA": "ExternalReference.1", "target_url": quote(stem_name(layer))}
    clip = _Clip(shot=stretch.shot, first=stretch.first, count=stretch.count)
    source = _range(stretch.first, stretch.count, rate)
    return _clip(clip, {**reference, **_reference_parts(_range(0, frames, rate))}, source)


def _reference_parts(available: Node) -> Node:
    return {
        "metadata": {},
        "name": "",
        "available_range": available,
        "available_image_bounds": None,
    }


def _clip(clip: _Clip, reference: Node, source: Node, *, markers: Sequence[Node] = ()) -> Node:
    findings = [weighed.finding.id for weighed in clip.shot.findings[:1]]
    own = {"shot": clip.shot.name, "scene": str(clip.shot.scene), "findings": findings}
    return _item("Clip.2", clip.shot.title, source=source, markers=markers) | {
        "metadata": {"riffract": own},
        "media_references": {_MEDIA: reference},
        "active_media_reference_key": _MEDIA,
    }


def _track(name: str, kind: str, clips: Sequence[Node], *, enabled: bool = True) -> Node:
    item = _item("Track.1", name) | {"children": list(clips), "kind": kind}
    return item | {"enabled": enabled}


def _item(
    schema: str, name: str, *, source: Node | None = None, markers: Sequence[Node] = ()
) -> Node:
    return {
        "OTIO_SCHEMA": schema,
        "metadata": {},
        "name": name,
        "source_range": source,
        "effects": [],
        "markers": list(markers),
        "enabled": True,
        "color": None,
    }


def _caption_marker(cue: Cue) -> Node:
    return _marker(cue.text, "YELLOW", _range(cue.start_ms, cue.end_ms - cue.start_ms, _MS))


def _chapter_markers(chapter_list: Sequence[Chapter]) -> list[Node]:
    return [_marker(c.title, "GREEN", _range(c.at_seconds, 0, 1)) for c in chapter_list]


def _marker(text: str, colour: str, marked: Node) -> Node:
    return {
        "OTIO_SCHEMA": "Marker.2",
        "metadata": {},
        "name": text,
        "color": colour,
        "marked_range": marked,
        "comment": text,
    }


def _range(start: int, length: int, rate: int) -> Node:
    return {
        "OTIO_SCHEMA": "TimeRange.1",
        "duration": _time(length, rate),
        "start_time": _time(start, rate),
    }


def _time(value: int, rate: int) -> Node:
    return {"OTIO_SCHEMA": "RationalTime.1", "rate": float(rate), "value": float(value)}
