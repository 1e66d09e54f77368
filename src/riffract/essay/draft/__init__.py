"""The passage as it is edited: pure functions from one draft to the next.

A `Draft` is what the text of `passage.tab` says: a passage whose bars may not fill their metre yet,
and the remarks around it. `read_draft` and `write_draft` lose nothing of either. Each edit takes a
draft and gives `Edited`: the draft after it, what was done in words, where the cursor and the
selection are then, or a refusal. A bar that is played again is edited in all its passes alike.

Places are `Cursor(bar=, offset_quarters=, string=)`, bars counted as played. Selections are
`Selection(span=, strings=)` in quarters of the passage as played. Values are exact quarters.

Text:
    `read_draft(text) -> DraftRead(draft | None, problems)`
    `draft_of_pasted(text) -> DraftRead`: an untimed tab, in a proposed time
    `write_draft(draft) -> str`

Frets:
    `put(draft, cursor, fret, value_quarters, *, dead=False, harmonic=False)`
    `erase(draft, selection)`: the notes go, their time stays
    `refinger(draft, selection, by_strings)`: same pitch on another string; + is lower-lying
    `move_strings(draft, selection, by_strings)`: same fret on another string
    `transpose(draft, selection, by_frets)`
    `accept_rival(draft, note_index, string, fret)`
    `typed_fret(before, digit, tuning) -> int`: 1 and 2 typed quickly are fret 12

Time:
    `set_value(draft, selection, value_quarters, *, moves_rest=True)`
    `tuplet(draft, selection, notes, in_time_of)`
    `tie(draft, selection)`, `split(draft, selection, parts=2)`
    `insert_time(draft, cursor, value_quarters)`, `delete_time(draft, selection)`
    `shift(draft, selection, by_quarters)`
    `dotted(value_quarters, dots) -> Fraction`

Playing:
    `toggle(draft, selection, technique)`
    `bend(draft, selection, cents)`, `trill(draft, selection, fret)`
    `tremolo(draft, selection, marks)`, `ring_until(draft, selection, until_quarters)`
    `add_grace(draft, cursor, fret, *, slashed=True, value_quarters=1/2, techniques=PLAIN)`
    `remove_graces(draft, cursor)`

Clips:
    `copy(draft, selection) -> Clip`, `cut(draft, selection) -> (Edited, Clip)`
    `paste(draft, cursor, clip)`, `repeat(draft, selection)`
    `paste_bars(draft, bar, clip)`: whole bars with their metres

Bars:
    `insert_bars(draft, bar, count=1)`, `delete_bars(draft, first, last)`
    `set_metre(draft, bar, metre, *, is_only_here=False)`
    `declare_length(draft, bar)`, `make_free(draft, bar, *, is_free=True)`
    `set_section(draft, bar, label)`
    `set_tempo(draft, cursor, quarters_per_minute | None, *, is_ramp=False)`
    `toggle_fermata(draft, cursor)`, `set_repeats(draft, first, last, times)`

Header:
    `set_title(draft, title)`, `set_tuning(draft, open_pitches, *, keeps_pitches=False)`
    `set_neck(draft, *, capo=None, frets=None, scale_length_mm=None)`

Mends:
    `mends(draft, bar) -> tuple[Mend, ...]`: each with words and `edited`
    `with_empty_bars_fitted(edited) -> Edited`: rests follow a new metre
"""

from riffract.essay.draft.bars import (
    declare_length,
    delete_bars,
    insert_bars,
    make_free,
    set_metre,
    set_repeats,
)
from riffract.essay.draft.carrying import carry
from riffract.essay.draft.clips import Clip, copy, cut, paste, paste_bars, repeat
from riffract.essay.draft.draft import Cursor, Draft, Edited, KeptLine, Misfill, Selection
from riffract.essay.draft.fretting import (
    accept_rival,
    erase,
    move_strings,
    put,
    refinger,
    transpose,
    typed_fret,
)
from riffract.essay.draft.header import set_neck, set_title, set_tuning
from riffract.essay.draft.marks import set_section, set_tempo, toggle_fermata
from riffract.essay.draft.mends import Mend, mends, with_empty_bars_fitted
from riffract.essay.draft.pick_up import is_pick_up, set_pick_up
from riffract.essay.draft.playing import add_grace, bend, remove_graces, ring_until, tremolo, trill
from riffract.essay.draft.text import DraftRead, draft_of_pasted, read_draft, write_draft
from riffract.essay.draft.timing import (
    delete_time,
    dotted,
    insert_time,
    set_value,
    shift,
    split,
    tie,
    tuplet,
)
from riffract.essay.draft.toggling import toggle

__all__ = [
    "Clip",
    "Cursor",
    "Draft",
    "DraftRead",
    "Edited",
    "KeptLine",
    "Mend",
    "Misfill",
    "Selection",
    "accept_rival",
    "add_grace",
    "bend",
    "carry",
    "copy",
    "cut",
    "declare_length",
    "delete_bars",
    "delete_time",
    "dotted",
    "draft_of_pasted",
    "erase",
    "insert_bars",
    "insert_time",
    "is_pick_up",
    "make_free",
    "mends",
    "move_strings",
    "paste",
    "paste_bars",
    "put",
    "read_draft",
    "refinger",
    "remove_graces",
    "repeat",
    "ring_until",
    "set_metre",
    "set_neck",
    "set_pick_up",
    "set_repeats",
    "set_section",
    "set_tempo",
    "set_title",
    "set_tuning",
    "set_value",
    "shift",
    "split",
    "tie",
    "toggle",
    "toggle_fermata",
    "transpose",
    "tremolo",
    "trill",
    "tuplet",
    "typed_fret",
    "with_empty_bars_fitted",
    "write_draft",
]
