"""Staff notation for paper: what MusicXML leaves to the reader is written out, then engraved."""

from riffract.publish.staff.engraver import StaffSystem, staff_systems

__all__ = ["StaffSystem", "staff_systems"]
