"""What a crash left between a key and its text: done to the passage once more."""

from collections.abc import Mapping, Sequence
from zlib import crc32

import msgspec
import tomlkit

from riffract.essay.draft import read_draft, write_draft
from riffract.essay.folder import OWN_TAB, SETTINGS_FILE
from riffract.studio.document import Document, passage_name
from riffract.studio.history import Texts
from riffract.studio.journal import Begun
from riffract.studio.notation.verbs import Wanted, done
from riffract.studio.problems import RefusedError


def begun(text: str, wanted: Wanted) -> Begun:
    """Say what is asked for, and of which text."""
    return Begun(of=crc32(text.encode()), wanted=msgspec.to_builtins(wanted))


def take_up(document: Document, left: Sequence[Begun]) -> None:
    """Do what was begun, as far as the passage is still the one that it was begun on."""
    for one in left:
        text = document.texts.get(passage_name(document.texts), "")
        draft = read_draft(text).draft
        if draft is None or crc32(text.encode()) != one.of:
            return
        try:
            edited = done(draft, msgspec.convert(one.wanted, Wanted))
        except (RefusedError, msgspec.ValidationError):
            return
        if edited.refusal is None:
            texts = with_music(document.texts, write_draft(edited.draft))
            document.change(edited.said, texts, desk="notate")


def with_music(texts: Texts, text: str) -> Mapping[str, str]:
    """Give the files that change with the passage: if it was music of another kind, it is a tab."""
    name = passage_name(texts)
    if name:
        return {name: text}
    settings = tomlkit.parse(texts.get(SETTINGS_FILE, ""))
    settings["passage"] = OWN_TAB
    return {OWN_TAB: text, SETTINGS_FILE: tomlkit.dumps(settings)}
