"""Changing a part of `essay.toml` as one step, what stands around it kept."""

from collections.abc import Callable
from typing import Any

import tomlkit
from tomlkit.exceptions import TOMLKitError

from riffract.essay.folder import SETTINGS_FILE
from riffract.essay.settings import read_settings
from riffract.formats.problem import Severity
from riffract.studio.problems import RefusedError
from riffract.studio.studio import Studio


def settings_of(studio: Studio) -> tomlkit.TOMLDocument:
    """Give the settings as they are written.

    Raises:
        RefusedError: if the file is no TOML; it says where.
    """
    text = studio.open_document.texts.get(SETTINGS_FILE, "")
    try:
        return tomlkit.parse(text)
    except TOMLKitError as error:
        _, problems = read_settings(text)
        if not problems:
            raise
        raise RefusedError.of(problems[0], file=SETTINGS_FILE) from error


def change_part(
    studio: Studio, part: str, label: str, put: Callable[[Any], None], *, desk: str
) -> dict[str, Any]:
    """Change a part of the settings, and tell all pages.

    Args:
        studio: with an open essay.
        part: its name, such as `film`; it is made if it is not there.
        label: what is done, in words.
        put: is given the part and changes it.
        desk: where it is done.

    Raises:
        RefusedError: if that would make a mistake in the settings; nothing is changed then.
    """
    settings = settings_of(studio)
    put(settings.setdefault(part, tomlkit.table()))
    text = tomlkit.dumps(settings)
    _, problems = read_settings(text)
    wrong = next((p for p in problems if p.severity is Severity.ERROR), None)
    if wrong is not None:
        raise RefusedError.of(wrong, file=SETTINGS_FILE)
    studio.open_document.change(label, {SETTINGS_FILE: text}, desk=desk)
    return studio.changed()
