"""What a disk refuses, which is no mistake of the program: told in the user's words."""

import errno
from collections.abc import Mapping
from types import MappingProxyType
from typing import Final

from riffract.formats.problem import Problem

_FULL: Final = Problem(
    what="no room is left on the disk", mend="make room, or write to another disk; then do it again"
)
_LOCKED: Final = Problem(
    what="this disk can only be read",
    mend="copy the folder to where you may write, or name another",
)
_FORBIDDEN: Final = Problem(
    what="this may not be read or written",
    mend="check whose file or folder it is, and whether a program holds it open",
)
_BROKEN: Final = Problem(
    what="the disk does not answer", mend="check that it is still plugged in; then do it again"
)

REFUSALS: Final[Mapping[int, Problem]] = MappingProxyType(
    {
        errno.ENOSPC: _FULL,
        errno.EDQUOT: _FULL,
        errno.EFBIG: _FULL,
        errno.EROFS: _LOCKED,
        errno.EACCES: _FORBIDDEN,
        errno.EPERM: _FORBIDDEN,
        errno.EIO: _BROKEN,
        errno.ENODEV: _BROKEN,
    }
)
"""By the number of the error (POSIX.1-2017, errno.h)."""


def refusal(error: OSError) -> Problem | None:
    """Say what a disk refused; `None` if it was something else, and so our mistake perhaps."""
    return REFUSALS.get(error.errno or 0)


def not_written(error: OSError) -> Problem:
    """Say why a file could not be written."""
    reason = error.strerror or str(error)
    return refusal(error) or Problem(
        what=f"the file cannot be written: {reason}", mend="check the folder"
    )
