"""Whether the values of a TOML file are those that a struct asks for; every one of them."""

import difflib
import json
import math
from collections.abc import Collection, Iterator, Mapping, Sequence
from dataclasses import dataclass, replace
from typing import Any, Final, get_args, get_origin

import msgspec
from msgspec.inspect import BoolType, FloatType, IntType, LiteralType, StrType, type_info

from riffract.essay.toml.faults import parsed_toml
from riffract.essay.toml.lines import KeyPath, key_lines, line_of
from riffract.formats.problem import Problem, Severity

SHOWN_SIGNS: Final = 60


@dataclass(frozen=True, slots=True, kw_only=True)
class Checked:
    """A TOML file, checked.

    Attributes:
        plain: its values as they stand, the wrong ones too.
        value: the struct; what is wrong stands at its default, or is left out with what needs it.
        wrong: the ways to all wrong values.
        lines: of the keys.
        problems: by line.
    """

    plain: Mapping[str, Any]
    value: Any
    wrong: frozenset[KeyPath]
    lines: Mapping[KeyPath, int]
    problems: tuple[Problem, ...]


@dataclass(frozen=True, slots=True, kw_only=True)
class _Fault:
    """A wrong value, or a key without effect.

    Attributes:
        path: the way to it.
        cut: what has to be left out so that the rest can be used.
        problem: without a place.
    """

    path: KeyPath
    cut: KeyPath
    problem: Problem


def checked(text: str, kind: type[Any]) -> Checked | Problem:
    """Check a TOML text against a struct all of whose keys may be left out.

    Returns:
        What it says, or the problem that makes it no TOML at all.
    """
    plain = parsed_toml(text)
    if isinstance(plain, Problem):
        return plain
    lines = key_lines(text)
    faults = list(_faults(plain, kind, ()))
    errors = [f for f in faults if f.problem.severity is Severity.ERROR]
    found = [located(f.problem, f.path, lines) for f in faults]
    return Checked(
        plain=plain,
        value=msgspec.convert(_without(plain, (), {f.cut for f in errors}), kind),
        wrong=frozenset(f.path for f in errors),
        lines=lines,
        problems=tuple(sorted(found, key=lambda problem: problem.line)),
    )


def located(problem: Problem, path: KeyPath, lines: Mapping[KeyPath, int]) -> Problem:
    """Say of a problem where it is."""
    return replace(problem, place=place_text(path), line=line_of(lines, path))


def place_text(path: KeyPath) -> str:
    """Name a value as people do: lists are counted from 1.

    >>> place_text(("claim", 1, "play", 0, "speed")), place_text(("film", "look"))
    ('claim 2, play 1, speed', 'film.look')
    """
    text = ""
    for before, step in zip(("", *path), path, strict=False):
        if isinstance(step, int):
            text += f" {step + 1}"
        elif text:
            text += f", {step}" if isinstance(before, int) else f".{step}"
        else:
            text = step
    return text


def _faults(value: object, kind: Any, path: KeyPath) -> Iterator[_Fault]:
    kind = _if_present(kind)
    if isinstance(kind, type) and issubclass(kind, msgspec.Struct):
        if isinstance(value, Mapping):
            yield from _faults_of_keys(value, kind, path)
        else:
            yield _fault(path, *_no_part(value, path))
    elif get_origin(kind) is tuple:
        item = get_args(kind)[0]
        if isinstance(value, list):
            for number, one in enumerate(value):
                yield from _faults(one, item, (*path, number))
        else:
            yield _fault(path, *_no_list(value, path))
    elif not _fits(value, kind):
        yield _fault(path, *_misfit(value, type_info(kind)))


def _faults_of_keys(row: Mapping[str, object], kind: Any, path: KeyPath) -> Iterator[_Fault]:
    fields = {field.encode_name: field for field in msgspec.structs.fields(kind)}
    for key, value in row.items():
        field = fields.get(key)
        if field is None:
            yield _unknown(key, fields, path)
            continue
        for fault in _faults(value, field.type, (*path, key)):
            needs_it = field.required and fault.cut == (*path, key)
            yield replace(fault, cut=path) if needs_it else fault
    for key, field in fields.items():
        if field.required and key not in row:
            mend = f"add {key} = …: {_allowed(type_info(field.type))}"
            missing = Problem(what=f"{key} is missing", mend=mend)
            yield _Fault(path=(*path, key), cut=path, problem=missing)


def _fault(path: KeyPath, what: str, mend: str) -> _Fault:
    return _Fault(path=path, cut=path, problem=Problem(what=what, mend=mend))


def _unknown(key: str, fields: Mapping[str, Any], path: KeyPath) -> _Fault:
    near = difflib.get_close_matches(key, fields, n=1)
    homes = [name for name, field in fields.items() if key in _keys_of(field.type)]
    mend = f"did you mean {near[0]}?" if near else f"known here: {', '.join(fields)}"
    problem = Problem(
        what=f"the key {key} is not known here and has no effect",
        mend=f"move it into the part {_name((*path, homes[0]))}" if homes else mend,
        severity=Severity.WARNING,
    )
    return _Fault(path=(*path, key), cut=(*path, key), problem=problem)


def _if_present(kind: Any) -> Any:
    """Give the type of a value that is there: TOML has no way to write `None`."""
    parts = [part for part in get_args(kind) if part is not type(None)]
    return parts[0] if type(None) in get_args(kind) else kind


def _keys_of(kind: Any) -> tuple[str, ...]:
    """Name the keys of a part, or of those in a list of parts; none of a single value."""
    kind = _if_present(kind)
    inner = get_args(kind)[0] if get_origin(kind) is tuple else kind
    return getattr(inner, "__struct_fields__", ())


def _without(value: Any, path: KeyPath, cuts: Collection[KeyPath]) -> Any:
    """Leave out all that stands at one of these ways."""
    if isinstance(value, Mapping):
        kept = {key: (*path, key) for key in value if (*path, key) not in cuts}
        return {key: _without(value[key], way, cuts) for key, way in kept.items()}
    if isinstance(value, list):
        rows = [(one, (*path, number)) for number, one in enumerate(value)]
        return [_without(one, way, cuts) for one, way in rows if way not in cuts]
    return value


def _fits(value: object, kind: Any) -> bool:
    try:
        msgspec.convert(value, kind)
    except (msgspec.ValidationError, OverflowError):
        return False
    return True


def _misfit(value: object, info: object) -> tuple[str, str]:
    """Say what is wrong with a single value, and how to mend it."""
    allowed = _allowed(info)
    what = f"{_shown(value)} is not {allowed}"
    match info:
        case LiteralType(values=words) if isinstance(value, str):
            near = difflib.get_close_matches(value.lower(), map(str, words), n=1)
            return what, f'did you mean "{near[0]}"?' if near else "write one of them, in quotes"
        case StrType() if isinstance(value, str):
            return f"this text has {len(value)} signs", f"write {allowed}"
        case StrType() | LiteralType():
            return what, "write text in quotes"
        case IntType() | FloatType() if isinstance(value, str):
            return what, "write a number, without quotes"
        case IntType() | FloatType() if _is_number(value):
            return what, f"write {_number_text(_nearest(value, info))}, the nearest"
    return what, f"write {allowed}"


def _allowed(info: object) -> str:
    """Name what a key takes."""
    match info:
        case LiteralType(values=words):
            return f"one of {', '.join(map(str, words))}"
        case IntType(ge=low, le=high, multiple_of=step):
            return f"{'an even' if step == 2 else 'a'} whole number {_range(low, high)}"
        case FloatType(ge=low, le=high):
            return f"a number {_range(low, high)}"
        case BoolType():
            return "true or false"
        case StrType(min_length=fewest, max_length=most):
            return f"text of {fewest} to {most} signs" if fewest else f"text of up to {most} signs"
    raise TypeError(f"no words for values of the type {info!r}")


def _range(low: float | None, high: float | None) -> str:
    ends = [_number_text(end) for end in (low, high) if end is not None]
    return f"from {ends[0]} to {ends[1]}" if len(ends) == 2 else f"from {ends[0]} on"


def _is_number(value: object) -> bool:
    is_number = isinstance(value, int) and not isinstance(value, bool)
    return is_number or (isinstance(value, float) and math.isfinite(value))


def _nearest(value: Any, info: IntType | FloatType) -> float:
    """Give the number nearest to a value that a key takes; of two the lower."""
    low = -math.inf if info.ge is None else info.ge
    high = math.inf if info.le is None else info.le
    held: float = min(max(value, low), high)
    if isinstance(info, FloatType):
        return held
    step = info.multiple_of or 1
    return float(math.ceil(held / step - 0.5) * step)


def _number_text(number: float) -> str:
    return str(int(number)) if number == int(number) else str(number)


def _shown(value: object) -> str:
    """Write a value as it stands in the file, a long one cut."""
    if isinstance(value, Mapping):
        return "a part with keys of its own"
    if isinstance(value, Sequence) and not isinstance(value, str):
        return "a list"
    if isinstance(value, int) and abs(value) >= 10**SHOWN_SIGNS:
        return "a number of so many digits"
    if isinstance(value, str | bool | int | float):
        text = json.dumps(value, ensure_ascii=False)
        return text if len(text) <= SHOWN_SIGNS else f"{text[: SHOWN_SIGNS - 1]}…"
    return str(value)


def _no_part(value: object, path: KeyPath) -> tuple[str, str]:
    name = _name(path)
    mend = f"write [{name}] and its keys below it"
    if isinstance(path[-1], int):
        mend = f"write [[{name}]] and its keys below it, or {{key = value}} in the list"
    return f"{_shown(value)} stands where {name} needs keys of its own", mend


def _no_list(value: object, path: KeyPath) -> tuple[str, str]:
    if isinstance(value, Mapping):
        mend = f"write [[{_name(path)}]] with two brackets, or put the braces into a list"
        return f"{path[-1]} is a single part, but there may be several", mend
    return f"{_shown(value)} is not a list", f"put it in brackets: {path[-1]} = […]"


def _name(path: KeyPath) -> str:
    return ".".join(step for step in path if isinstance(step, str))
