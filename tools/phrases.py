"""List every phrase that is said in an essay's language, for whoever translates.

Run from the repository: python -m tools.phrases
"""

import ast
from collections.abc import Iterator
from pathlib import Path
from typing import Final

from riffract.analysis import interval_name, wording
from riffract.analysis.saying import ENGLISH
from riffract.essay.shot_list import SAFE_LISTENING
from riffract.picture import clock_words
from riffract.picture.look import PAPER
from riffract.publish import evidence, glossary, handout
from riffract.publish.languages import words_table
from riffract.publish.reading_help import samples
from riffract.weighing.study import VERDICT_NAMES

SOURCE: Final = Path(__file__).parents[1] / "src" / "riffract"


def phrases() -> frozenset[str]:
    """Give all phrases that do not count."""
    return frozenset(call[0] for call in _calls("say", 1)) | frozenset(_tables())


def counted_phrases() -> frozenset[str]:
    """Give all phrases for several."""
    written = frozenset(call[2] for call in _calls("say_count", 3) if len(call) == 3)
    nouns = frozenset(f"{{number}} {call[-1]}" for call in _counted_nouns())
    values = frozenset(f"{{count}} {value.name}s" for value in wording.NOTE_VALUES)
    return written | nouns | values


def _tables() -> Iterator[str]:
    """Give what stands in tables of the code, and is said from there."""
    yield from VERDICT_NAMES.values()
    yield from evidence.VERDICT_MEANINGS.values()
    yield from evidence.METHODS.values()
    yield from evidence.KIND_NAMES.values()
    yield from handout.HEADINGS.values()
    yield from (handout.SAFE_LISTENING, SAFE_LISTENING)
    yield from (sample.meaning for sample in samples(PAPER))
    for term in glossary.TERMS:
        yield from (term.word, term.meaning)
    yield from wording.NUMBERS
    yield wording.ALL_BARS
    yield from filter(None, (*interval_name.SIMPLE, *interval_name.OCTAVES))
    yield from (f"a {name}" for name in interval_name.SIMPLE)
    yield from clock_words.TURNS.values()


def _calls(name: str, most: int) -> Iterator[list[str]]:
    for node in _nodes():
        if isinstance(node, ast.Call) and isinstance(node.func, ast.Name) and node.func.id == name:
            given = node.args[:most]
            if all(isinstance(one, ast.Constant) for one in given[most - 1 :]):
                yield [str(getattr(one, "value", "")) for one in given]


def _counted_nouns() -> Iterator[list[str]]:
    """Give the nouns that pictures and papers count; those of findings stay English."""
    for node in _nodes("picture", "publish"):
        if (
            isinstance(node, ast.Call)
            and isinstance(node.func, ast.Name)
            and node.func.id == "counted"
            and isinstance(node.args[1], ast.Constant)
        ):
            one = str(node.args[1].value)
            many = node.args[2] if len(node.args) > 2 else None
            yield [str(many.value) if isinstance(many, ast.Constant) else f"{one}s"]


def _nodes(*rooms: str) -> Iterator[ast.AST]:
    for room in rooms or ("",):
        for path in sorted((SOURCE / room).rglob("*.py")):
            yield from ast.walk(ast.parse(path.read_text(encoding="utf-8")))


if __name__ == "__main__":
    table = words_table("de")
    assert ENGLISH.code == "en"
    for phrase in sorted(phrases()):
        print(f"{'' if phrase in table.words else 'NEW '}{phrase!r}")
    for phrase in sorted(counted_phrases()):
        print(f"{'' if phrase in table.counted else 'NEW '}counted {phrase!r}")
