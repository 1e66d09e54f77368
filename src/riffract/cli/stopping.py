"""A command that is ended from outside stops as by Ctrl+C: its drafts go with it."""

import signal
import threading
from collections.abc import Iterator
from contextlib import contextmanager
from typing import Final

ENDINGS: Final = ("SIGTERM", "SIGHUP")
"""What the system sends when it shuts down, and when the terminal's window is closed; Windows knows
only the first."""


@contextmanager
def stopped_as_by_hand() -> Iterator[None]:
    """Let the system's ways of ending a program raise `KeyboardInterrupt` inside the `with` block.

    By default they end Python at once, and what was half written stays. What somebody else has
    decided about them, `nohup` for one, is left as it is.
    """
    changed = []
    if threading.current_thread() is threading.main_thread():
        known = [getattr(signal, name) for name in ENDINGS if hasattr(signal, name)]
        changed = [one for one in known if signal.getsignal(one) is signal.SIG_DFL]
    for one in changed:
        signal.signal(one, signal.default_int_handler)
    try:
        yield
    finally:
        for one in changed:
            signal.signal(one, signal.SIG_DFL)
