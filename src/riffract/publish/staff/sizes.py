"""Sizes of staff and tab on paper, in page units of the engraver."""

from typing import Final

STAFF_MM: Final = 5.6
"""How high a staff is: between the 5 mm of parts and the 7 mm of music for learners, so that five
or six bars of eighths fit a line of 168 mm, and a reader at arm's length can still tell a line from
a space (1.4 mm)."""

UNITS_A_STAFF: Final = 72
"""The engraver's staff is eight of its half spaces high, 9 units each."""

UNITS_A_MM: Final = UNITS_A_STAFF / STAFF_MM

STRING_GAP: Final = 2.05 * UNITS_A_MM
"""From one line of the tab to the next: about one and a half spaces of the staff, as tab is set, so
that figures on neighbouring strings stand clear of each other."""

FIGURE_SIZE: Final = 2.3 * UNITS_A_MM
"""Of fret numbers: 6.5 pt, 1.5 mm high, which leaves a half millimetre between two strings."""

GRACE_SHARE: Final = 0.78
"""Size of a grace note's number against the others: the engraver's for noteheads is 0.75, and below
5 pt figures close up in print."""

SIGN_SIZE: Final = 2.1 * UNITS_A_MM
"""Of letters over the tab: 6 pt."""

ROW_HEIGHT: Final = 2.7 * UNITS_A_MM
"""Of a row of signs between staff and tab: a line of them with room above."""

LINE_WIDTH: Final = 0.13 * UNITS_A_MM
"""Of the lines of tab: like the staff's."""
