"""A look file: the user's own colours and fonts, in TOML, on the base of a built-in look."""

import re
from collections.abc import Iterator
from dataclasses import dataclass, replace
from pathlib import Path
from types import MappingProxyType
from typing import Annotated, Final, Literal

import msgspec

from riffract.essay.leads_out import leads_out
from riffract.essay.toml.values import Checked, checked, located
from riffract.formats.problem import Problem, Severity
from riffract.picture.look import LOOKS, Look
from riffract.picture.look_check import look_faults, mended_hex
from riffract.picture.marks import Role
from riffract.picture.own_fonts import read_fonts
from riffract.picture.type import Family

_HEX: Final = re.compile(r"#[0-9a-fA-F]{6}")

Hex = Annotated[str, msgspec.Meta(max_length=40)]
FolderName = Annotated[str, msgspec.Meta(min_length=1, max_length=400)]


class Colours(msgspec.Struct, frozen=True, kw_only=True):
    """A colour for each role; what is left out stays as in the base."""

    ground: Hex | None = None
    glass: Hex | None = None
    text: Hex | None = None
    quiet: Hex | None = None
    string: Hex | None = None
    bar: Hex | None = None
    anchor: Hex | None = None
    fall: Hex | None = None
    rise: Hex | None = None
    drone: Hex | None = None
    bend: Hex | None = None


class LookFile(msgspec.Struct, frozen=True, kw_only=True):
    """All of a look file.

    Attributes:
        base: the look that gives what is left out.
        fonts: the name of a folder with fonts, beside the file.
        colours: as `#rrggbb`.
    """

    base: Literal["dark", "paper"] = "dark"
    fonts: FolderName | None = None
    colours: Colours = Colours()


@dataclass(frozen=True, slots=True, kw_only=True)
class OwnLook:
    """A look as its file gives it.

    Attributes:
        look: the colours.
        family: the fonts; `None` for the built-in ones.
    """

    look: Look
    family: Family | None = None


def read_look(path: Path) -> tuple[OwnLook | None, tuple[Problem, ...]]:
    """Read a look file with its fonts, and check that all eyes can read and tell apart.

    Returns:
        The look, `None` if an error is among the problems; and all problems, by line. Colours that
        are too faint or too much alike are warnings.
    """
    try:
        text = path.read_text(encoding="utf-8-sig")
    except OSError as error:
        wrong = Problem(
            what=f"the look file cannot be read: {error.strerror}",
            mend="write its name as it stands in the essay's folder",
        )
        return None, (wrong,)
    except UnicodeDecodeError:
        wrong = Problem(what="the text is not UTF-8", mend="save it as UTF-8 in your text editor")
        return None, (wrong,)
    read = checked(text, LookFile)
    if isinstance(read, Problem):
        return None, (read,)
    own, found = _own_look(read.value, path)
    problems = (*read.problems, *(_placed(problem, read) for problem in found))
    ordered = tuple(sorted(problems, key=lambda problem: problem.line))
    is_wrong = any(problem.severity is Severity.ERROR for problem in ordered)
    return None if is_wrong else own, ordered


def _own_look(file: LookFile, path: Path) -> tuple[OwnLook, list[tuple[str, Problem]]]:
    """Make the look, and list what is wrong with it, each with the key it is about."""
    base = LOOKS[file.base]
    given = {
        role: value for role in Role if (value := getattr(file.colours, role.value)) is not None
    }
    faults = [
        (role.value, _no_colour(value)) for role, value in given.items() if not _is_hex(value)
    ]
    chosen = {role: value.lower() for role, value in given.items() if _is_hex(value)}
    hexes = MappingProxyType({**base.hexes, **chosen})
    look = replace(base, name=path.stem, hexes=hexes)
    family, font_problems = _fonts(file.fonts, path.parent)
    faults += [("fonts", problem) for problem in font_problems]
    faults += _colour_problems(look)
    return OwnLook(look=look, family=family), faults


def _colour_problems(look: Look) -> Iterator[tuple[str, Problem]]:
    for fault in look_faults(look):
        other = mended_hex(look, fault.role)
        mend = f"make {fault.role} lighter or darker: {other} would do"
        yield (
            fault.role.value,
            Problem(
                what=fault.sentence,
                mend=mend if other else f"choose another hue for {fault.role}",
                severity=Severity.WARNING,
            ),
        )


def _fonts(name: str | None, folder: Path) -> tuple[Family | None, tuple[Problem, ...]]:
    if name is None:
        return None, ()
    if leads_out(folder, name):
        wrong = Problem(
            what=f"the folder {name} lies outside the essay's folder",
            mend="copy the fonts into a folder beside the look file",
        )
        return None, (wrong,)
    return read_fonts(folder / name)


def _is_hex(value: str) -> bool:
    return _HEX.fullmatch(value) is not None


def _no_colour(value: str) -> Problem:
    return Problem(
        what=f'"{value}" is no colour',
        mend="write # and six digits or letters a to f, as #f2c871",
    )


def _placed(named: tuple[str, Problem], read: Checked) -> Problem:
    key, problem = named
    path = (key,) if key == "fonts" else ("colours", key)
    return located(problem, path, read.lines)
