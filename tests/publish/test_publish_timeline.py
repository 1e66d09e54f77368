"""The timeline, read by the standard's own library."""

import json
from dataclasses import replace
from fractions import Fraction
from typing import Any

import opentimelineio as otio
import pytest
from tests.publish_fakes import small_shots, small_study

from riffract.essay.shots import Voice
from riffract.essay.soundtrack import Layer
from riffract.publish.captions import captions
from riffract.publish.chapters import Chapter
from riffract.publish.film.overlay import OverlayKind
from riffract.publish.film.writing import frame_count
from riffract.publish.timeline import Media, timeline_text

STUDY = small_study()
SHOTS = small_shots(STUDY)
CUES = captions(SHOTS, STUDY.passage)
CHAPTERS = (Chapter(at_seconds=0, title="First"), Chapter(at_seconds=10, title="Second"))
WHOLE = Media(film="film.mp4", overlay_folder="overlay", overlay=OverlayKind.PRORES)


def text_of(media: Media = WHOLE, *, rate: int = 30) -> str:
    return timeline_text("Étude", SHOTS, CUES, CHAPTERS, media, frames_a_second=rate)


def read(media: Media = WHOLE, *, rate: int = 30) -> Any:
    return otio.adapters.read_from_string(text_of(media, rate=rate), "otio_json")


def exact(time: Any) -> Fraction:
    return Fraction(time.value) / Fraction(time.rate)


# Against the reference: opentimelineio 0.18.1 reads the file and writes it again.


@pytest.mark.parametrize("kind", list(OverlayKind))
def test_the_standards_own_library_writes_back_what_it_read(kind: OverlayKind) -> None:
    text = text_of(Media(film="film.mp4", overlay_folder="overlay", overlay=kind))
    again = otio.adapters.read_from_string(text, "otio_json").to_json_string()
    assert json.loads(again) == json.loads(text)


@pytest.mark.parametrize("rate", [12, 24, 25, 30, 60])
def test_each_track_is_as_long_as_the_film_to_the_frame(rate: int) -> None:
    frames = frame_count([shot.length_seconds for shot in SHOTS], rate)
    for track in read(rate=rate).tracks:
        assert exact(track.duration()) == Fraction(frames, rate)


def test_each_clip_lies_where_it_is_cut_from() -> None:
    picture, _overlay, sound = read().tracks
    for track in (picture, sound):
        for clip, shot in zip(track, SHOTS, strict=True):
            assert clip.name == shot.title
            assert clip.range_in_parent() == clip.source_range
            assert clip.media_reference.target_url == "film.mp4"
            cut, whole = clip.source_range, clip.available_range()
            assert whole.start_time <= cut.start_time
            assert cut.end_time_exclusive() <= whole.end_time_exclusive()


def test_captions_are_markers_on_the_clip_during_which_they_start() -> None:
    picture = read().tracks[0]
    found = [(marker, clip) for clip in picture for marker in clip.markers]
    assert [m.comment for m, _ in found] == [cue.text for cue in CUES]
    for (marker, clip), cue in zip(found, CUES, strict=True):
        assert exact(marker.marked_range.start_time) == Fraction(cue.start_ms, 1000)
        assert exact(marker.marked_range.duration) == Fraction(cue.end_ms - cue.start_ms, 1000)
        assert clip.source_range.contains(marker.marked_range.start_time)


def test_chapters_are_markers_on_the_whole() -> None:
    markers = read().tracks.markers
    assert [(m.marked_range.start_time.to_seconds(), m.name) for m in markers] == [
        (0, "First"),
        (10, "Second"),
    ]


def test_the_overlay_is_a_file_a_shot_and_switched_off() -> None:
    overlay = read().tracks[1]
    assert not overlay.enabled
    urls = [clip.media_reference.target_url for clip in overlay]
    assert urls == [f"overlay/{shot.name}.mov" for shot in SHOTS]
    assert all(exact(clip.source_range.start_time) == 0 for clip in overlay)


def test_an_overlay_of_pictures_names_each_of_them() -> None:
    overlay = read(Media(film=None, overlay_folder="overlay", overlay=OverlayKind.PNG)).tracks[1]
    sequence = overlay[1].media_reference
    last = sequence.number_of_images_in_sequence() - 1
    assert sequence.target_url_for_image_number(0) == f"overlay/{SHOTS[1].name}/00000.png"
    assert sequence.target_url_for_image_number(last) == f"overlay/{SHOTS[1].name}/00209.png"


def test_what_is_not_there_is_missing_and_nothing_else_is_named() -> None:
    picture, sound = read(Media(film=None)).tracks
    for clip in (*picture, *sound):
        assert clip.media_reference.is_missing_reference
        assert exact(clip.available_range().duration) == 24


def test_no_reference_leaves_the_folder() -> None:
    urls = [clip.media_reference.target_url for clip in read().find_clips()]
    assert not any(url.startswith(("/", "..")) or ":" in url for url in urls)


# Stems.

ALL_STEMS = Media(film="film.mp4", stems=tuple(Layer))
SPOKEN = [
    replace(shot, voice=Voice(take="takes/a.wav", at_seconds=0.7, length_seconds=2.013))
    if shot.plays
    else shot
    for shot in SHOTS
]


def stem_tracks(*, rate: int = 30, stems: tuple[Layer, ...] = tuple(Layer)) -> dict[str, Any]:
    text = timeline_text(
        "Étude", SPOKEN, CUES, CHAPTERS, replace(ALL_STEMS, stems=stems), frames_a_second=rate
    )
    return {t.name: t for t in otio.adapters.read_from_string(text, "otio_json").audio_tracks()}


def test_with_stems_the_films_own_sound_is_switched_off() -> None:
    assert {name: track.enabled for name, track in stem_tracks().items()} == {
        "sound": False,
        "rendering": True,
        "recording": True,
        "narration": True,
    }
    assert next(iter(read(Media(film="film.mp4")).audio_tracks())).enabled


@pytest.mark.parametrize("rate", [12, 24, 25, 30, 60])
def test_clips_of_a_stem_lie_where_they_are_cut_from(rate: int) -> None:
    frames = frame_count([shot.length_seconds for shot in SHOTS], rate)
    for track in stem_tracks(rate=rate).values():
        assert exact(track.duration()) == Fraction(frames, rate)
        for clip in track.find_clips():
            assert clip.range_in_parent() == clip.source_range
            assert clip.source_range.duration.value > 0
            whole = clip.available_range().end_time_exclusive()
            assert clip.source_range.end_time_exclusive() <= whole


def test_each_excerpt_and_each_take_is_a_clip_of_its_own_stem() -> None:
    tracks = stem_tracks()
    shot_starts = (3.0, 10.0)
    assert [
        (clip.name, float(exact(clip.source_range.start_time)))
        for name in ("recording", "rendering")
        for clip in tracks[name].find_clips()
    ] == [(SPOKEN[1].title, shot_starts[0] + 0.5), (SPOKEN[2].title, shot_starts[1] + 1.0)]
    takes = list(tracks["narration"].find_clips())
    for clip, start in zip(takes, shot_starts, strict=True):
        own = clip.source_range
        assert exact(own.start_time) <= Fraction(str(start + 0.7))
        assert exact(own.end_time_exclusive()) >= Fraction(str(start + 0.7 + 2.013))
        assert exact(own.duration) <= Fraction(str(2.013)) + Fraction(2, 30)


def test_without_a_recordings_stem_all_excerpts_are_rendered() -> None:
    tracks = stem_tracks(stems=(Layer.RENDERING,))
    assert set(tracks) == {"sound", "rendering"}
    assert len(list(tracks["rendering"].find_clips())) == 2
