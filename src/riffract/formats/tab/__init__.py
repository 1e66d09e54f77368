"""The plain-text tab: what guitarists exchange, with a row of note values above it."""

from riffract.formats.tab.kept_lines import lines_beside
from riffract.formats.tab.reader import LenientRead, read_tab, read_tab_leniently
from riffract.formats.tab.writable import UnwritableError, unwritable
from riffract.formats.tab.writer import Beside, write_tab, write_tabs

__all__ = [
    "Beside",
    "LenientRead",
    "UnwritableError",
    "lines_beside",
    "read_tab",
    "read_tab_leniently",
    "unwritable",
    "write_tab",
    "write_tabs",
]
