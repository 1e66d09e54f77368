"""What an answer states, apart from how much: the part that names it."""

from collections.abc import Mapping
from dataclasses import fields, is_dataclass


def stated(answer: object) -> str:
    """Write what an answer states, without its measured numbers.

    Those differ in their last digits from one machine to another, and with every refinement of a
    method. What a record does not show of itself (`repr=False`) is no part of what it states.

    Args:
        answer: records, tuples and mappings of exact values; a float is a measure.

    Returns:
        The same text on every machine for the same statement.

    >>> stated((1, 0.5, ("rising", (2.5,))))
    "(1, ('rising', ()))"
    """
    if isinstance(answer, tuple):
        return f"({', '.join([stated(value) for value in answer if not isinstance(value, float)])})"
    if is_dataclass(answer) and not isinstance(answer, type):
        shown = [
            (field.name, getattr(answer, field.name)) for field in fields(answer) if field.repr
        ]
        parts = [f"{name}={stated(v)}" for name, v in shown if not isinstance(v, float)]
        return f"{type(answer).__name__}({', '.join(parts)})"
    if isinstance(answer, Mapping):
        return f"{{{', '.join([f'{key!r}: {stated(value)}' for key, value in answer.items()])}}}"
    return repr(answer)
