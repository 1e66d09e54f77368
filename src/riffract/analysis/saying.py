"""Words in the language of an essay: English as it stands in the code, others from a table.

A phrase is its own name: `say("bars {first} to {last}", first=1, last=3)` is looked up as it is
written, and stays English where the table has nothing for it. So the code can be read, and nothing
is ever left unsaid.
"""

import re
from collections.abc import Iterator, Mapping
from contextlib import contextmanager
from contextvars import ContextVar
from dataclasses import dataclass, field
from typing import Final

_PLACE: Final = re.compile(r"\{(\w+)\}")


@dataclass(frozen=True, slots=True, kw_only=True)
class Language:
    """A language that films and papers can be in.

    Attributes:
        code: as BCP 47 writes it: `en`, `de`.
        phrases: each English phrase with its translation; both have the same places to fill.
        counted: each English phrase for several with its translations for one and for several.
        decimal_sign: between a whole and its tenths.
        has_own_words: whether an essay brings words of its own for some of the phrases.
    """

    code: str
    phrases: Mapping[str, str] = field(default_factory=dict)
    counted: Mapping[str, tuple[str, str]] = field(default_factory=dict)
    decimal_sign: str = "."
    has_own_words: bool = False


ENGLISH: Final = Language(code="en")


@contextmanager
def said_in(chosen: Language) -> Iterator[None]:
    """Say everything in a language, inside the `with` block and in this thread."""
    earlier = _LANGUAGE.set(chosen)
    try:
        yield
    finally:
        _LANGUAGE.reset(earlier)


def speak(chosen: Language) -> None:
    """Say everything in a language from now on in this thread: those of a pool start in English."""
    _LANGUAGE.set(chosen)


def language() -> Language:
    """Give the language that things are said in here and now."""
    return _LANGUAGE.get()


def say(phrase: str, **values: object) -> str:
    """Say a phrase in the language of the essay, its places filled.

    >>> say("bars {first} to {last}", first=1, last=3)
    'bars 1 to 3'
    >>> german = Language(code="de", phrases={"bars {first} to {last}": "Takte {first} bis {last}"})
    >>> with said_in(german):
    ...     say("bars {first} to {last}", first=1, last=3)
    'Takte 1 bis 3'
    """
    return _filled(language().phrases.get(phrase, phrase), values)


def say_count(count: int, one: str, several: str, **values: object) -> str:
    """Say a phrase for one or for several, `{count}` and other places filled.

    >>> say_count(1, "{count} shot", "{count} shots"), say_count(3, "{count} shot", "{count} shots")
    ('1 shot', '3 shots')
    """
    forms = language().counted.get(several, (one, several))
    return _filled(forms[0] if count == 1 else forms[1], {"count": count, **values})


def in_digits(number: str) -> str:
    """Write a number as the language does, with its own decimal sign.

    >>> with said_in(Language(code="de", decimal_sign=",")):
    ...     in_digits(f"{2.5:.2f}")
    '2,50'
    """
    return number.replace(".", language().decimal_sign)


def places_of(phrase: str) -> frozenset[str]:
    """Name the places of a phrase that are filled.

    >>> sorted(places_of("bars {first} to {last}"))
    ['first', 'last']
    """
    return frozenset(_PLACE.findall(phrase))


def _filled(phrase: str, values: Mapping[str, object]) -> str:
    """Fill places by plain replacement: a table that somebody else wrote can do nothing more."""
    return _PLACE.sub(lambda place: str(values.get(place[1], place[0])), phrase)


_LANGUAGE: Final[ContextVar[Language]] = ContextVar("language", default=ENGLISH)
