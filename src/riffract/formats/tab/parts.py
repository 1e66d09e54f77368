"""Several passages in one file: each begins with a line `passage: NAME`."""

from collections.abc import Sequence
from dataclasses import dataclass

from riffract.formats.tab.faults import Fault, Report, Spot, either, nearest, shortened
from riffract.formats.tab.header import spot_of
from riffract.formats.tab.lines import PASSAGE_KEY, Directive
from riffract.formats.tab.sheet import Item, System

MOST_NAMES_SHOWN = 12
INHERITED = ("title", "tuning", "capo", "frets", "scale", "metre", "tempo")
"""Keys of a header that hold for the passages behind it, until they are given anew."""


@dataclass(frozen=True, slots=True)
class Part:
    """One passage of a file: its name, and its lines with what its header takes over."""

    name: str
    items: tuple[Item, ...]


def parts_of(items: Sequence[Item], report: Report) -> list[Part]:
    """Divide a file into its passages; one alone has its title for a name.

    What stands before the first `passage:` line is a passage of its own if there is music in it,
    and otherwise a header for all of them.
    """
    starts = [
        i for i, item in enumerate(items) if isinstance(item, Directive) and item.key == PASSAGE_KEY
    ]
    if not starts:
        return [Part(_title(items), tuple(items))]
    head = list(items[: starts[0]])
    parts: list[Part] = []
    header: dict[str, Directive] = {}
    if any(isinstance(item, System) for item in head):
        parts.append(Part(_title(head) or "1", tuple(head)))
    header |= _header(head)
    names = {part.name for part in parts}
    for start, end in zip(starts, [*starts[1:], len(items)], strict=True):
        own = list(items[start + 1 : end])
        directive = items[start]
        assert isinstance(directive, Directive)
        name = _checked_name(directive, names, report)
        names.add(name)
        said = _header(own)
        taken = [given for key, given in header.items() if key not in said]
        if not any(directive.key == "title" for directive in (*said.values(), *taken)):
            taken.append(Directive("title", name, directive.line, directive.column))
        parts.append(Part(name, (*taken, *own)))
        header |= said
    return parts


def chosen_part(parts: Sequence[Part], name: str | None, report: Report) -> Part | None:
    """Choose a passage by its name, or the first; tell what else there is."""
    names = [part.name for part in parts]
    if name is None:
        if len(parts) > 1:
            what = f"this file holds {len(parts)} passages; the first, `{names[0]}`, is read"
            mend = f"the others are {_listed(names[1:])}; choose one by its name"
            report.warn(Fault(what=what, mend=mend), Spot(0))
        return parts[0]
    found = next((part for part in parts if part.name == name), None)
    if found is None:
        mend = f"it holds {_listed(names)}" if any(names) else "it holds one, which has no name"
        close = nearest(name, [other for other in names if other])
        mend += f"; the nearest is {either(close[:1])}" if close and len(names) > 1 else ""
        what = f"this file holds no passage `{shortened(name)}`"
        report.error(Fault(what=what, mend=mend), Spot(0))
    return found


def _title(items: Sequence[Item]) -> str:
    titles = (i.value for i in items if isinstance(i, Directive) and i.key == "title")
    return next(titles, "")


def _header(items: Sequence[Item]) -> dict[str, Directive]:
    """Collect what stands before the music and holds for later passages too."""
    found: dict[str, Directive] = {}
    for item in items:
        if isinstance(item, System):
            break
        if item.key in INHERITED:
            found.setdefault(item.key, item)
    return found


def _checked_name(directive: Directive, names: set[str], report: Report) -> str:
    name = directive.value
    if not name:
        mend = "write it behind the colon: `passage: Theme`"
        report.error(Fault(what="this passage has no name", mend=mend), spot_of(directive))
    elif name in names:
        what = f"two passages are called `{shortened(name)}`"
        report.error(Fault(what=what, mend="give each its own name"), spot_of(directive))
    return name


def _listed(names: Sequence[str]) -> str:
    shown = ", ".join(f"`{shortened(name)}`" for name in names[:MOST_NAMES_SHOWN])
    return f"{shown} …" if len(names) > MOST_NAMES_SHOWN else shown
