"""Every threshold of the analyses and of the weighing: its value, its reason, and a way to move it.

`python -m tools.thresholds` writes `docs/thresholds.md` anew.
"""

import ast
import importlib
from collections import defaultdict
from collections.abc import Iterator, Mapping
from contextlib import contextmanager
from dataclasses import dataclass
from functools import cache
from itertools import pairwise
from pathlib import Path
from typing import Final

ROOT: Final = Path(__file__).parents[1]
ROOMS: Final = ("analysis", "weighing")
CODES: Final = frozenset(
    {"ANY_VALUE", "MAD_TO_DEVIATION", "NONE", "NOWHERE", "SETS", "SILENT", "_EULER"}
)
"""Constants that code something, or convert it, and so decide nothing."""

PAGE: Final = ROOT / "docs" / "thresholds.md"


@dataclass(frozen=True, slots=True, kw_only=True)
class Threshold:
    """A named number that decides something.

    Attributes:
        module: where it is set, e.g. `riffract.analysis.gestures.limbs`.
        name: its name there.
        value: what it is.
        reason: its docstring in one line; empty if it has none.
    """

    module: str
    name: str
    value: float
    reason: str


def thresholds() -> tuple[Threshold, ...]:
    """List the thresholds, by module and then as they stand in it."""
    return tuple(
        threshold
        for room in ROOMS
        for path in sorted((ROOT / "src" / "riffract" / room).rglob("*.py"))
        for threshold in thresholds_in(path)
    )


def thresholds_in(path: Path) -> Iterator[Threshold]:
    """List the thresholds of one module, as they stand in it."""
    module = _module_name(path)
    body = ast.parse(path.read_text(encoding="utf-8")).body
    for node, after in pairwise([*body, None]):
        name = _constant_name(node)
        if name is None:
            continue
        value = getattr(importlib.import_module(module), name)
        if isinstance(value, (int, float)) and not isinstance(value, bool):
            yield Threshold(module=module, name=name, value=value, reason=_reason(after))


def _constant_name(node: ast.stmt | None) -> str | None:
    """Give the name of a constant that is set here, not taken from elsewhere or computed."""
    if not isinstance(node, ast.AnnAssign) or not isinstance(node.target, ast.Name):
        return None
    if node.value is None or any(isinstance(part, ast.Name) for part in ast.walk(node.value)):
        return None
    name = node.target.id
    return name if name.isupper() and name not in CODES else None


def _reason(node: ast.stmt | None) -> str:
    is_text = isinstance(node, ast.Expr) and isinstance(node.value, ast.Constant)
    text = node.value.value if is_text else ""  # type: ignore[union-attr]
    return " ".join(text.split()) if isinstance(text, str) else ""


@contextmanager
def moved(threshold: Threshold, value: float) -> Iterator[None]:
    """Let a threshold have another value in its module, and in those that import it by name."""
    names = (threshold.module, *_importers()[threshold.module, threshold.name])
    holders = [importlib.import_module(name) for name in names]
    for module in holders:
        setattr(module, threshold.name, value)
    try:
        yield
    finally:
        for module in holders:
            setattr(module, threshold.name, threshold.value)


@cache
def _importers() -> Mapping[tuple[str, str], list[str]]:
    """List the modules that import each name from each module."""
    found: dict[tuple[str, str], list[str]] = defaultdict(list)
    for path in sorted((ROOT / "src" / "riffract").rglob("*.py")):
        for node in ast.walk(ast.parse(path.read_text(encoding="utf-8"))):
            if isinstance(node, ast.ImportFrom) and node.module is not None:
                for alias in node.names:
                    found[node.module, alias.name].append(_module_name(path))
    return found


def _module_name(path: Path) -> str:
    parts = path.relative_to(ROOT / "src").with_suffix("").parts
    return ".".join(parts).removesuffix(".__init__")


def neighbours(value: float, share: float) -> tuple[float, float]:
    """Give a smaller and a larger value; whole numbers move by one at least.

    >>> neighbours(4, 0.1), neighbours(0.5, 0.1)
    ((3, 5), (0.45, 0.55))
    """
    if isinstance(value, int):
        step = max(round(abs(value) * share), 1)
        return value - step, value + step
    return round(value * (1 - share), 12), round(value * (1 + share), 12)


def page() -> str:
    """Write the page that lists all of them."""
    lines = [
        "# Thresholds",
        "",
        "Every number that decides something in the analyses and in the weighing, with its reason.",
        "Written by `python -m tools.thresholds`; `python -m bench.sensitivity` prints what",
        "changes when each of them is moved.",
    ]
    module = ""
    for one in thresholds():
        if one.module != module:
            module = one.module
            lines += ["", f"## `{module.removeprefix('riffract.')}`", ""]
        lines.append(f"- `{one.name}` = {one.value:g}: {one.reason}")
    return "\n".join(lines) + "\n"


if __name__ == "__main__":
    PAGE.write_text(page(), encoding="utf-8")
