"""Tab as it is found in mails: without time, in many hands' spellings."""

from riffract.formats.pasted.proposal import Grid
from riffract.formats.pasted.reader import is_pasted_tab, read_pasted_tab

__all__ = ["Grid", "is_pasted_tab", "read_pasted_tab"]
