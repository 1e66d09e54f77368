"""Checking a package that somebody else made: are its files whole, do its numbers come out again.

Nothing in it is trusted: names must stay in the folder, links are refused, sizes are looked at
before anything is read.
"""

import stat
from collections.abc import Iterator, Mapping
from dataclasses import dataclass
from math import isclose
from pathlib import Path
from types import MappingProxyType
from typing import Any, Final

import msgspec

from riffract import __version__
from riffract.analysis.saying import said_in
from riffract.analysis.wording import counted
from riffract.essay.earlier import read_earlier
from riffract.essay.folder import SeededStudy
from riffract.essay.translation import Translation
from riffract.formats.problem import Problem, Severity
from riffract.formats.reading import read_passage
from riffract.publish.answer import answer
from riffract.publish.languages import language_for
from riffract.publish.manifest import FileEntry, Manifest, sum_of
from riffract.publish.parts import FINDINGS_FILE, MANIFEST_FILE, UNFINISHED_FOLDER
from riffract.publish.wording import number_text
from riffract.weighing.study import VERDICT_NAMES

LARGEST_FINDINGS_BYTES: Final = 256 * 2**20
"""The answer for a hundred thousand notes takes a fifth of it."""

SAME_SHARE: Final = 1e-6
"""Numbers that differ by a smaller share are the same: processors round sums differently, in the
last of fifteen digits, and answers keep twelve."""

MOST_TOLD: Final = 20
"""Differences that are told one by one; the rest is counted."""

_AGAIN: Final = "ask for the package again, or publish it again"

MOST_SIGNS_TOLD: Final = 300
"""Of what a package says itself; no sentence of ours is that long."""

_SIGNS_BEFORE: Final = 24
"""Of two sentences so much is told before they part: a few words to find the place by."""

MOST_LOOKED_AT: Final = 200_000
"""Files beyond the manifest's are looked for among so many at most."""


_SAYS: Final[Mapping[str, str]] = MappingProxyType(
    {
        "spans": "its bars",
        "notes": "its notes",
        "survives": "the changes that it stands",
        "carried_by": "the notes that carry it",
        "rivals": "its rivals",
        "follows_from": "the findings that it follows from",
    }
)
"""What else a finding says, in words."""


class KnownFinding(msgspec.Struct, frozen=True, kw_only=True):
    """What is compared of a finding."""

    id: str
    verdict: str
    sentence: str
    measures: dict[str, float | str | None]
    what: dict[str, Any]
    detail: str | None = None
    spans: Any = None
    notes: Any = None
    survives: Any = None
    carried_by: Any = None
    rivals: Any = None
    follows_from: Any = None


class KnownAnswer(msgspec.Struct, frozen=True, kw_only=True):
    """What is compared of an answer."""

    findings: tuple[KnownFinding, ...]
    passage: Any = None
    ignored: Any = None
    language: str = "en"
    own_words: bool = False


@dataclass(frozen=True, slots=True, kw_only=True)
class Numbers:
    """What came of making the numbers again.

    Attributes:
        count: of findings that were compared; `None` if nothing could be made again.
        problems: how they differ, or why nothing could be made again.
    """

    count: int | None
    problems: tuple[Problem, ...]


def file_problems(folder: Path, manifest: Manifest) -> tuple[Problem, ...]:
    """Say which files are missing, changed, of an earlier state, or not of the package."""
    wrong = [problem for entry in manifest.files for problem in _file_problem(folder, entry)]
    told = wrong[:MOST_TOLD]
    if len(wrong) > MOST_TOLD:
        more = counted(len(wrong) - MOST_TOLD, "more file like these", "more files like these")
        told.append(_error(more, _AGAIN))
    return (*told, *_earlier_state(manifest), *_strangers(folder, manifest))


def numbers_again(folder: Path, manifest: Manifest, study_of: SeededStudy) -> Numbers:
    """Study the package's own passage with its seed, and compare with the findings in it.

    Args:
        folder: the package's; its files have been found whole.
        manifest: of the package.
        study_of: how a passage is studied.
    """
    names = {entry.name for entry in manifest.files}
    if FINDINGS_FILE not in names or not manifest.studied or not names >= set(manifest.studied):
        why = "the package has not both findings and the music they are of"
        return Numbers(count=None, problems=(_warning(why, "publish `findings` and `passage`"),))
    before = _known(folder / FINDINGS_FILE)
    if isinstance(before, Problem):
        return Numbers(count=None, problems=(before,))
    own, *others = (folder / name for name in manifest.studied)
    read = read_passage(own)
    earlier, found = read_earlier(others)
    wrong = [p for p in (*read.problems, *(p for _, p in found)) if p.severity is Severity.ERROR]
    if read.passage is None or wrong:
        return Numbers(count=None, problems=tuple(wrong))
    translation = Translation(code=before.language)
    with said_in(language_for(translation)[0]):
        study = study_of(read.passage, manifest.seed, earlier)
    now = msgspec.convert(answer(study), KnownAnswer)
    told = list(differences(before, now))
    problems = [_error(text, _why(manifest)) for text in told[:MOST_TOLD]]
    if len(told) > MOST_TOLD:
        more = counted(len(told) - MOST_TOLD, "more difference")
        problems.append(_error(more, _why(manifest)))
    return Numbers(count=len(before.findings), problems=tuple(problems))


def differences(before: KnownAnswer, now: KnownAnswer) -> Iterator[str]:
    """Say in a sentence each how findings made again differ from those handed over.

    What an essay says in words of its own cannot be said again without them, and is not compared.
    """
    if not is_same(before.passage, now.passage):
        yield "the findings are of other music than is in the package"
    says_the_same = not before.own_words
    if says_the_same and not is_same(before.ignored, now.ignored):
        yield "what is told to be left out of account differs"
    new = {finding.id: finding for finding in now.findings}
    old = {finding.id: finding for finding in before.findings}
    for name, was in old.items():
        if name not in new:
            yield f"{name} is not found again: {was.sentence}"
        else:
            yield from _finding_differences(was, new[name], says_the_same=says_the_same)
    for name, found in new.items():
        if name not in old:
            yield f"{name} is found, and is not in the package: {found.sentence}"


def _finding_differences(
    was: KnownFinding, now: KnownFinding, *, says_the_same: bool
) -> Iterator[str]:
    if was.verdict != now.verdict:
        yield (
            f"{was.id}: the verdict was {_verdict(was.verdict)}, and is {_verdict(now.verdict)} now"
        )
    for name in sorted(was.measures.keys() | now.measures.keys()):
        one, other = was.measures.get(name), now.measures.get(name)
        is_said = isinstance(one, str) and not says_the_same
        if not is_said and not is_same(one, other):
            yield f"{was.id}: {name} was {_value(one)}, and is {_value(other)} now"
    for name in sorted(was.what.keys() | now.what.keys()):
        if not is_same(was.what.get(name), now.what.get(name)):
            yield f"{was.id}: what it says of {name} differs"
    for name, words in _SAYS.items():
        if (says_the_same or name != "rivals") and not is_same(
            getattr(was, name), getattr(now, name)
        ):
            yield f"{was.id}: {words} differ"
    said = ((was.sentence, now.sentence), (was.detail, now.detail)) if says_the_same else ()
    for one, other in said:
        if one != other:
            before, after = _around_the_difference(one or "", other or "")
            yield f"{was.id}: it said “{before}”, and says “{after}” now"


def _around_the_difference(was: str, now: str) -> tuple[str, str]:
    """Leave out what two texts begin with alike, but for some words before they part.

    >>> begins = "Template from bar 3, beat 1, 12 eighths long; 226 bits against 274; "
    >>> _around_the_difference(begins + "pace 2.5.", begins + "pace 2.67.")
    ('… bits against 274; pace 2.5.', '… bits against 274; pace 2.67.')
    """
    parts = (place for place, signs in enumerate(zip(was, now, strict=False)) if len({*signs}) > 1)
    alike = next(parts, min(len(was), len(now)))
    start = was.rfind(" ", 0, max(alike - _SIGNS_BEFORE, 0))
    return (was, now) if start < 0 else (f"…{was[start:]}", f"…{now[start:]}")


def is_same(one: Any, other: Any) -> bool:
    """Say whether two plain values are the same, numbers up to rounding.

    >>> is_same({"p": [0.1 + 0.2]}, {"p": [0.3]}), is_same(0.3, 0.301), is_same(1, "1")
    (True, False, False)
    """
    match one, other:
        case dict(), dict():
            same_keys = one.keys() == other.keys()
            return same_keys and all(is_same(one[key], other[key]) for key in one)
        case list(), list():
            same_length = len(one) == len(other)
            return same_length and all(map(is_same, one, other))
        case (bool(), _) | (_, bool()):
            return one is other
        case ((int() | float()), (int() | float())):
            return isclose(one, other, rel_tol=SAME_SHARE, abs_tol=SAME_SHARE)
        case _:
            return bool(one == other)


def plainly(text: str) -> str:
    r"""Write what a package says so that it does nothing to a terminal.

    >>> plainly("one\x1b[2Jtwo")
    'one [2Jtwo'
    """
    shown = "".join(sign if sign.isprintable() else " " for sign in text)
    return shown if len(shown) <= MOST_SIGNS_TOLD else f"{shown[:MOST_SIGNS_TOLD]} …"


def _file_problem(folder: Path, entry: FileEntry) -> Iterator[Problem]:
    path = folder / entry.name
    mend = _AGAIN
    try:
        if path.resolve() != folder.resolve() / entry.name:
            yield _error("it is a link, which may lead anywhere", mend, place=entry.name)
            return
        status = path.stat()
        if not stat.S_ISREG(status.st_mode):
            yield _error("it is no ordinary file", mend, place=entry.name)
        elif status.st_size != entry.bytes:
            what = f"it has {status.st_size} bytes, and had {entry.bytes}"
            yield _error(what, mend, place=entry.name)
        elif sum_of(path) != entry.sha256:
            yield _error("it was changed since the package was made", mend, place=entry.name)
    except FileNotFoundError:
        yield _error("it is missing", mend, place=entry.name)
    except OSError as error:
        yield _error(f"it cannot be read: {error.strerror or error}", mend, place=entry.name)


def _earlier_state(manifest: Manifest) -> Iterator[Problem]:
    stale = [entry.name for entry in manifest.files if entry.made_from != manifest.made_from]
    if stale:
        shown = ", ".join(stale[:3]) + (" …" if len(stale) > 3 else "")
        yield _warning(
            f"{_files(len(stale))} of the package {_were(len(stale))} made before the music or the "
            f"claims last changed: {shown}",
            "publish everything again, so that all of it is of one state",
        )


def _strangers(folder: Path, manifest: Manifest) -> Iterator[Problem]:
    known = {entry.name for entry in manifest.files} | {MANIFEST_FILE}
    strange = []
    for number, path in enumerate(folder.rglob("*")):
        name = path.relative_to(folder).as_posix()
        if number >= MOST_LOOKED_AT:
            break
        if path.is_file() and name not in known and not name.startswith(f"{UNFINISHED_FOLDER}/"):
            strange.append(name)
    if strange:
        shown = ", ".join(sorted(strange)[:3]) + (" …" if len(strange) > 3 else "")
        yield _warning(
            f"{_files(len(strange))} in the folder {_were(len(strange))} not put there by the "
            f"package, and not looked at: {shown}",
            "take away what you do not know the source of",
        )


def _known(path: Path) -> KnownAnswer | Problem:
    mend = "publish `findings` again"
    try:
        if path.stat().st_size > LARGEST_FINDINGS_BYTES:
            limit = LARGEST_FINDINGS_BYTES // 2**20
            return _error(f"it is larger than {limit} MB", mend, place=path.name)
        return msgspec.json.decode(path.read_bytes(), type=KnownAnswer)
    except OSError as error:
        return _error(f"it cannot be read: {error.strerror or error}", mend, place=path.name)
    except (msgspec.DecodeError, ValueError, RecursionError) as error:
        return _error(f"it holds no findings: {error}", mend, place=path.name)


def _why(manifest: Manifest) -> str:
    if manifest.riffract != __version__:
        return (
            f"the package was made by version {manifest.riffract}, and this is {__version__}; "
            "take the same to compare"
        )
    return "ask whoever made the package how its numbers came about"


def _files(count: int) -> str:
    return counted(count, "file")


def _were(count: int) -> str:
    return "was" if count == 1 else "were"


def _verdict(name: str) -> str:
    known: Mapping[str, str] = {verdict.value: words for verdict, words in VERDICT_NAMES.items()}
    return known.get(name, name)


def _value(value: float | str | None) -> str:
    if value is None:
        return "not given"
    return value if isinstance(value, str) else number_text(value)


def _error(what: str, mend: str, *, place: str = "") -> Problem:
    return Problem(what=plainly(what), mend=plainly(mend), place=place)


def _warning(what: str, mend: str) -> Problem:
    return Problem(what=plainly(what), mend=mend, severity=Severity.WARNING)
