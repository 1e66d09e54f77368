"""A recording's head: what it says about itself, and how it is opened."""

from dataclasses import dataclass
from pathlib import Path
from typing import Any, Final

from riffract.sound.reading.kind import form_of
from riffract.sound.sound import HIGHEST_RATE_HZ, LOWEST_RATE_HZ, SoundProblem

MOST_CHANNELS: Final = 8
"""7.1 surround; nothing that holds a riff has more."""

_BARE_STREAM_PROBE_BYTES: Final = 500_000
"""Every frame of a bare AAC stream has a head of its own, so that half a minute tells all. The
decoder keeps what it looked at: with ten times as much, millions of empty frames take 300 MB."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Head:
    """What a recording says about itself.

    Attributes:
        form: the container, as the decoder calls it.
        codec: how the sound is coded, as the decoder calls it.
        rate_hz: samples a second.
        channels: how many.
        seconds: how long, or None where the container does not say. A claim, not a count.
    """

    form: str
    codec: str
    rate_hz: int
    channels: int
    seconds: float | None


def head_of(path: Path) -> Head | SoundProblem:
    """Tell what a recording says about itself, without decoding it.

    Args:
        path: the file.

    Returns:
        The head; or why the file cannot be read.
    """
    import av

    form = form_of(path)
    if isinstance(form, SoundProblem):
        return form
    try:
        with opened(path, form) as container:
            return _head(path, form, container)
    # Heads that contradict themselves end in either.
    except (av.error.FFmpegError, ValueError) as error:
        return SoundProblem(
            what=f"the head of {path.name} cannot be read: {reason_of(error)}",
            mend="export the recording again, best as wav or flac",
        )


def opened(path: Path, form: str) -> Any:
    """Open a plain file and nothing else; closing it is the reader's business."""
    import av

    # A plain file and nothing else: an address hidden in the name or the content is not followed.
    options = {"protocol_whitelist": "file"}
    if form == "aac":
        options["probesize"] = str(_BARE_STREAM_PROBE_BYTES)
    return av.open(f"file:{path.absolute()}", format=form, options=options)


def reason_of(error: Exception) -> str:
    """Say why decoding failed, as the decoder says it."""
    return getattr(error, "strerror", None) or str(error)


def _head(path: Path, form: str, container: Any) -> Head | SoundProblem:
    if not container.streams.audio:
        return SoundProblem(
            what=f"{path.name} holds no sound", mend="choose a file with a sound track"
        )
    stream = container.streams.audio[0]
    if stream.codec_context is None:
        return SoundProblem(
            what=f"{path.name} holds sound in a form that is not known, or is locked",
            mend="export the recording again, best as wav or flac",
        )
    return _fault_of_numbers(path, stream) or Head(
        form=form,
        codec=stream.codec_context.name,
        rate_hz=stream.rate,
        channels=stream.channels,
        seconds=_claimed_seconds(stream, container),
    )


def _fault_of_numbers(path: Path, stream: Any) -> SoundProblem | None:
    if stream.channels < 1:
        return SoundProblem(
            what=f"{path.name} does not say how many channels it has, or claims far too many",
            mend="export it again with two",
        )
    if stream.channels > MOST_CHANNELS:
        return SoundProblem(
            what=f"{path.name} has {stream.channels} channels",
            mend=f"mix it down to at most {MOST_CHANNELS}, best to two",
        )
    if not LOWEST_RATE_HZ <= stream.rate <= HIGHEST_RATE_HZ:
        return SoundProblem(
            what=f"{path.name} claims {stream.rate} samples a second",
            mend=f"export it at 44100 or 48000; {LOWEST_RATE_HZ} to {HIGHEST_RATE_HZ} can be read",
        )
    return None


def _claimed_seconds(stream: Any, container: Any) -> float | None:
    import av

    if stream.duration is not None:
        return float(stream.duration * stream.time_base)
    return None if container.duration is None else container.duration / av.time_base
