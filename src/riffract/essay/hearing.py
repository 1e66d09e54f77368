"""What listening to an essay's recording gave, kept in `alignment.json`.

The file is made, not written by hand: the analyst's own fixed moments stand in `essay.toml` and are
only repeated in it. It says what it was made from, so that one made from another recording or
another rhythm is never taken for true.
"""

from collections.abc import Sequence
from dataclasses import astuple
from fractions import Fraction
from hashlib import file_digest, sha256
from pathlib import Path
from typing import Any, Final, Literal, TypeGuard

import msgspec

from riffract import __version__
from riffract.essay.beside import write_whole
from riffract.formats.problem import Problem, Severity
from riffract.music import Passage
from riffract.sound.alignment import Alignment, Anchor
from riffract.sound.support import SupportReport

ALIGNMENT_FILE: Final = "alignment.json"
LARGEST_BYTES: Final = 64 * 2**20
"""A hundred thousand notes take a third of it."""


class MadeFrom(msgspec.Struct, frozen=True, kw_only=True):
    """What was listened to.

    Attributes:
        recording: the file's name.
        recording_sha256: of the file.
        attacks_sha256: of the moments at which something is struck, which is all that times hang
            on: a mended fret does not make an alignment stale.
        notes_sha256: of all that a note's support hangs on.
    """

    recording: str
    recording_sha256: str
    attacks_sha256: str
    notes_sha256: str


class Hearing(msgspec.Struct, frozen=True, kw_only=True):
    """A passage held against its recording.

    Attributes:
        riffract: the version that made it.
        schema: of this file.
        made_from: what was listened to.
        alignment: when everything sounds.
        support: what the recording says of each note.
        doubts: the same in words, one sentence for each note that it does not bear out.
    """

    made_from: MadeFrom
    alignment: Alignment
    support: SupportReport
    doubts: tuple[str, ...] = ()
    riffract: str = __version__
    schema: Literal[1] = 1


def made_from(
    passage: Passage, recording: Path, *, recording_sha256: str | None = None
) -> MadeFrom:
    """Take the fingerprints of a passage and a recording; the file must be readable.

    Args:
        passage: what is written.
        recording: the file.
        recording_sha256: its fingerprint, if it was taken already; large files take seconds.
    """
    attacks = sorted({note.onset_quarters for note in passage.notes})
    return MadeFrom(
        recording=recording.name,
        recording_sha256=recording_sha256 or _digest_of_file(recording),
        attacks_sha256=_digest([*attacks, passage.length_quarters]),
        notes_sha256=notes_sha256(passage),
    )


def is_of_notes(hearing: Hearing | None, passage: Passage) -> TypeGuard[Hearing]:
    """Say whether what was said of single notes holds: times may hold when a note has changed."""
    return hearing is not None and hearing.made_from.notes_sha256 == notes_sha256(passage)


def notes_sha256(passage: Passage) -> str:
    """Take the fingerprint of all that a note's support hangs on."""
    return _digest(
        (n.onset_quarters, n.duration_quarters, n.string, n.fret, n.pitch, int(n.techniques))
        for n in passage.notes
    )


def hearing_text(hearing: Hearing) -> str:
    """Write what was heard as JSON, indented, with a line end at its end.

    Moments of the score are exact strings of quarters, all else plain numbers.
    """
    encoded = msgspec.json.encode(hearing, enc_hook=_plain)
    return msgspec.json.format(encoded, indent=1).decode() + "\n"


def write_hearing(folder: Path, hearing: Hearing) -> Path:
    """Keep what was heard beside the essay; give the file's name."""
    path = folder / ALIGNMENT_FILE
    write_whole(path, hearing_text(hearing))
    return path


def read_hearing(path: Path) -> Hearing | Problem:
    """Read a file that `write_hearing` wrote; a broken one is a warning, since it can be remade."""
    try:
        if path.stat().st_size > LARGEST_BYTES:
            return unused_problem(f"it is larger than {LARGEST_BYTES // 2**20} MB")
        return msgspec.json.decode(path.read_bytes(), type=Hearing, dec_hook=_exact)
    except OSError as error:
        return unused_problem(f"it cannot be read: {error.strerror or error}")
    except (msgspec.DecodeError, ValueError, RecursionError) as error:
        return unused_problem(str(error))


def why_stale(hearing: Hearing, now: MadeFrom, anchors: Sequence[Anchor]) -> str:
    """Say why the times no longer hold for an essay as it is now; empty if they do."""
    then = hearing.made_from
    if then.recording_sha256 != now.recording_sha256:
        return f"it was made from another recording ({then.recording})"
    if then.attacks_sha256 != now.attacks_sha256:
        return "the rhythm of the passage has changed since"
    if sorted(map(astuple, hearing.alignment.anchors)) != sorted(map(astuple, anchors)):
        return "the fixed moments in essay.toml have changed since"
    return ""


def _digest_of_file(path: Path) -> str:
    with path.open("rb") as file:
        return file_digest(file, "sha256").hexdigest()


def _digest(values: Any) -> str:
    return sha256(";".join(map(str, values)).encode()).hexdigest()


NOT_USED: Final = "the times in this file are not used: "


def unused_problem(why: str) -> Problem:
    """Say that a kept alignment is not used, and why."""
    return Problem(
        what=f"{NOT_USED}{why}",
        mend="make it again with: riffract hear FOLDER",
        severity=Severity.WARNING,
    )


def _plain(value: Any) -> Any:
    if isinstance(value, Fraction):
        return str(value)
    raise NotImplementedError(f"no plain form for {type(value)}")


def _exact(kind: type, value: Any) -> Any:
    if kind is Fraction and isinstance(value, str):
        try:
            return Fraction(value)
        except ZeroDivisionError:
            raise ValueError(f"{value!r} is no number of quarters") from None
    raise NotImplementedError(f"no way to read {kind}")
