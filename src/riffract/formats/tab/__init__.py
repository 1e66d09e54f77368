"""The plain-text tab: what guitarists exchange, with a row of note values above it."""

from riffract.formats.tab.reader import read_tab
from riffract.formats.tab.writable import UnwritableError
from riffract.formats.tab.writer import write_tab, write_tabs

__all__ = ["UnwritableError", "read_tab", "write_tab", "write_tabs"]
