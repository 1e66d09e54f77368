"""An essay in another language: `language` in `essay.toml`, and the analyst's own translations.

The analyst's words are theirs. What they wrote in one language and want to say in another stands in
`words.<language>.toml`, under the words themselves, so that it survives any reordering; a text that
has changed since is missed, and told.
"""

import re
from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass, field, replace
from pathlib import Path
from typing import Annotated, Final

import msgspec

from riffract.essay.claims import Claim
from riffract.essay.settings import LongText, Settings
from riffract.essay.toml.faults import parsed_toml
from riffract.formats.problem import Problem, Severity

LARGEST_BYTES: Final = 4 * 2**20
"""Of a file of words; a film of two hours says a hundredth of it."""

_CODE: Final = re.compile(r"[a-z]{2,3}(-[A-Za-z0-9]{2,8}){0,3}")
"""BCP 47 (RFC 5646, 2.1), as far as languages that films are in need it."""

Phrase = Annotated[str, msgspec.Meta(min_length=1, max_length=20_000)]


class WordsFile(msgspec.Struct, frozen=True, kw_only=True):
    """All of `words.<language>.toml`.

    Attributes:
        said: the analyst's own texts, each with its translation.
        words: phrases of the program itself, if it is to say them otherwise.
        counted: the same for phrases that count: for one, and for several.
    """

    said: dict[Phrase, LongText] = {}
    words: dict[Phrase, LongText] = {}
    counted: dict[Phrase, tuple[LongText, LongText]] = {}


@dataclass(frozen=True, slots=True, kw_only=True)
class Translation:
    """What an essay says in its language.

    Attributes:
        code: of the language, as BCP 47 writes it.
        said: the analyst's own texts, each with its translation.
        words: phrases of the program itself that the analyst wants to be said otherwise.
        counted: the same for phrases that count.
        is_whole: whether a file of words is there, so that what it lacks is worth telling.
    """

    code: str
    said: Mapping[str, str] = field(default_factory=dict)
    words: Mapping[str, str] = field(default_factory=dict)
    counted: Mapping[str, tuple[str, str]] = field(default_factory=dict)
    is_whole: bool = False

    def of(self, text: str) -> str:
        """Say one of the analyst's texts; what is not translated stays as it is."""
        return self.said.get(text) or text


def words_file(code: str) -> str:
    """Name the file of words of a language.

    >>> words_file("de")
    'words.de.toml'
    """
    return f"words.{code}.toml"


def read_translation(folder: Path, code: str) -> tuple[Translation, tuple[Problem, ...]]:
    """Read an essay's own words in its language; without a file its texts stay as they are."""
    if not _CODE.fullmatch(code):
        problem = Problem(
            what=f'"{code}" is no code of a language',
            mend='write two letters, as "en" or "de"; films stay in English until then',
            severity=Severity.WARNING,
        )
        return Translation(code="en"), (problem,)
    path = folder / words_file(code)
    if not path.is_file():
        return Translation(code=code), ()
    read = _read(path)
    if isinstance(read, Problem):
        return Translation(code=code), (read,)
    return (
        Translation(
            code=code, said=read.said, words=read.words, counted=read.counted, is_whole=True
        ),
        (),
    )


def translated_claims(claims: Sequence[Claim], translation: Translation) -> tuple[Claim, ...]:
    """Say claims in the essay's language."""
    return tuple(
        replace(
            claim,
            title=translation.of(claim.title),
            lines=tuple(map(translation.of, claim.lines)),
        )
        for claim in claims
    )


def translated_settings(settings: Settings, translation: Translation) -> Settings:
    """Say title, makers and rights in the essay's language."""
    return msgspec.structs.replace(
        settings,
        title=translation.of(settings.title),
        subtitle=translation.of(settings.subtitle),
        credits=tuple(map(translation.of, settings.credits)),
        rights=translation.of(settings.rights),
    )


def missing_words(
    settings: Settings, claims: Sequence[Claim], translation: Translation
) -> tuple[Problem, ...]:
    """Tell which of the analyst's texts a file of words lacks, and which of its own none uses."""
    if not translation.is_whole:
        return ()
    texts = list(dict.fromkeys(_texts(settings, claims)))
    missing = [text for text in texts if not translation.said.get(text)]
    unused = [text for text in translation.said if text not in texts]
    return (
        *(
            _told(f"“{_short(text)}” is not translated, and stays as it is", "add it under [said]")
            for text in missing
        ),
        *(
            _told(f"“{_short(text)}” is translated, but said nowhere", "change or delete it")
            for text in unused
        ),
    )


def _texts(settings: Settings, claims: Sequence[Claim]) -> Iterator[str]:
    yield from filter(None, (settings.title, settings.subtitle, *settings.credits, settings.rights))
    for claim in claims:
        yield claim.title
        yield from claim.lines


def _read(path: Path) -> WordsFile | Problem:
    try:
        if path.stat().st_size > LARGEST_BYTES:
            return _told(f"it is larger than {LARGEST_BYTES // 2**20} MB", "keep words only in it")
        text = path.read_text(encoding="utf-8-sig")
    except OSError as error:
        return _told(f"it cannot be read: {error.strerror}", "check its rights")
    except UnicodeDecodeError:
        return _told("the text is not UTF-8", "save it as UTF-8 in your text editor")
    plain = parsed_toml(text)
    if isinstance(plain, Problem):
        return plain
    try:
        return msgspec.convert(plain, WordsFile)
    except msgspec.ValidationError as error:
        return Problem(
            what=f"a translation is not text: {error}",
            mend='write each as "text" = "translation", under [said] or [words]',
        )


def _told(what: str, mend: str) -> Problem:
    return Problem(what=what, mend=mend, severity=Severity.WARNING)


def _short(text: str, most: int = 60) -> str:
    return text if len(text) <= most else f"{text[: most - 1].rstrip()}…"
