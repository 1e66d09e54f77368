"""The languages that films and papers can be in: the built-in tables, and an essay's own words.

A table holds under each English phrase, as it stands in the code, its translation. Anything that a
table lacks is said in English. A language that is not built in needs nothing but its own table.
"""

import tomllib
from collections.abc import Iterator, Mapping
from functools import cache
from importlib.resources import files
from pathlib import Path
from typing import Final, TypeVar

import msgspec

from riffract.analysis.saying import ENGLISH, Language, places_of
from riffract.essay.translation import Translation, read_translation, words_file
from riffract.formats.problem import Problem, Severity

_Value = TypeVar("_Value")

BUILT_IN: Final = ("de",)
"""Languages beside English that come with the program."""


class WordsTable(msgspec.Struct, frozen=True, kw_only=True):
    """A built-in table."""

    decimal_sign: str
    words: dict[str, str]
    counted: dict[str, tuple[str, str]]


def language_for(translation: Translation) -> tuple[Language, tuple[Problem, ...]]:
    """Give the language of an essay: the built-in table, overruled by the essay's own words.

    Returns:
        The language, and what of the essay's own words cannot be used.
    """
    built_in = _built_in(translation.code)
    problems = list(_misfits(translation))
    wrong = {problem.place for problem in problems}
    if built_in is None and translation.code != ENGLISH.code and not translation.words:
        problems.append(_unknown(translation.code))
    base = built_in or ENGLISH
    return (
        Language(
            code=translation.code,
            phrases={**base.phrases, **_without(translation.words, wrong)},
            counted={**base.counted, **_without(translation.counted, wrong)},
            decimal_sign=base.decimal_sign,
            has_own_words=bool(translation.words or translation.counted),
        ),
        tuple(problems),
    )


def language_in(folder: Path, code: str) -> tuple[Language, tuple[Problem, ...]]:
    """Give a language with the own words for it in a folder, and what of those cannot be used."""
    translation, unread = read_translation(folder, code)
    chosen, unfit = language_for(translation)
    return chosen, (*unread, *unfit)


@cache
def words_table(code: str) -> WordsTable:
    """Read the built-in table of a language."""
    text = files(__package__).joinpath("words", f"{code}.toml").read_text(encoding="utf-8")
    return msgspec.convert(tomllib.loads(text), WordsTable)


def _built_in(code: str) -> Language | None:
    """Give the table of a language, or of what it is a kind of: German for `de-AT`."""
    main = code.partition("-")[0]
    if main not in BUILT_IN:
        return None
    table = words_table(main)
    return Language(
        code=code,
        phrases=table.words,
        counted=table.counted,
        decimal_sign=table.decimal_sign,
    )


def _misfits(translation: Translation) -> Iterator[Problem]:
    for phrase, said in translation.words.items():
        if places_of(said) != places_of(phrase):
            yield _misfit(phrase)
    for phrase, forms in translation.counted.items():
        if any(not places_of(form) <= places_of(phrase) for form in forms):
            yield _misfit(phrase)


def _misfit(phrase: str) -> Problem:
    places = ", ".join(f"{{{name}}}" for name in sorted(places_of(phrase))) or "none"
    return Problem(
        what=f"the translation of “{phrase}” has other places to fill",
        mend=f"use just these: {places}",
        place=phrase,
        severity=Severity.WARNING,
    )


def _unknown(code: str) -> Problem:
    return Problem(
        what=f"there is no built-in table of words for {code}; what the program says stays English",
        mend=f"put its words under [words] in {words_file(code)}; docs/captions.md tells how",
        severity=Severity.WARNING,
    )


def _without(given: Mapping[str, _Value], wrong: set[str]) -> dict[str, _Value]:
    return {phrase: value for phrase, value in given.items() if phrase not in wrong}
