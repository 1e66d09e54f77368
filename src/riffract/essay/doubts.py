"""The notes of an essay that its recording does not bear out, as shots show them."""

from riffract.essay.hearing import Hearing, notes_sha256
from riffract.essay.shots import Doubt
from riffract.music import Passage
from riffract.sound.support import Support


def doubts_of(hearing: Hearing | None, passage: Passage) -> tuple[Doubt, ...]:
    """List the notes that a recording does not bear out.

    Args:
        hearing: what listening gave; `None` if nobody has listened.
        passage: the music as it is now.

    Returns:
        In the passage's order. Empty if a note has changed since: times may still hold then, but
        what was said of single notes does not.
    """
    if hearing is None or hearing.made_from.notes_sha256 != notes_sha256(passage):
        return ()
    return tuple(
        Doubt(note=heard.note, is_contradicted=heard.support is Support.CONTRADICTED)
        for heard in hearing.support.notes
        if heard.support is not Support.BORNE_OUT
    )
