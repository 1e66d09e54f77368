"""Sound that a page sends: taken in whole, checked, and put into its place."""

from pathlib import Path
from typing import Final

from starlette.requests import Request

from riffract.essay.beside import beside
from riffract.sound.reading.kind import form_of
from riffract.sound.sound import SoundProblem

LARGEST_BYTES: Final = 4 * 2**30
"""Three hours of stereo at 192 kHz and 24 bits take 12 GB; nobody cuts a riff out of that here."""


async def received(request: Request, target: Path) -> SoundProblem | None:
    """Write what arrives beside its place, and put it there if it is a recording.

    Raises:
        ClientDisconnect: if it did not arrive whole; nothing is left behind.
    """
    try:
        with beside(target) as draft:
            await _write(request, draft)
            _check(draft, target.name)
    except _UnfitError as error:
        return error.problem
    return None


class _UnfitError(Exception):
    """What arrived is no recording that can be taken.

    Attributes:
        problem: why.
    """

    def __init__(self, problem: SoundProblem) -> None:
        super().__init__(problem.what)
        self.problem = problem


def _check(draft: Path, name: str) -> None:
    form = form_of(draft)
    if isinstance(form, SoundProblem):
        raise _UnfitError(SoundProblem(what=form.what.replace(draft.name, name), mend=form.mend))


async def _write(request: Request, path: Path) -> None:
    # What is said to be too large is not waited for; what says nothing, or less, is counted.
    said = request.headers.get("content-length", "")
    _check_size(int(said) if said.isdecimal() else 0)
    size = 0
    with path.open("wb") as file:
        async for piece in request.stream():
            size += len(piece)
            _check_size(size)
            file.write(piece)


def _check_size(size_bytes: int) -> None:
    if size_bytes > LARGEST_BYTES:
        raise _UnfitError(
            SoundProblem(what="the file is larger than 4 GB", mend="cut out the part that you need")
        )
