"""List every phrase that is said in an essay's language, for whoever translates.

Run from the repository: python -m tools.phrases
"""

import ast
from collections.abc import Iterator
from pathlib import Path
from typing import Final

from riffract.analysis import interval_name, set_class, wording
from riffract.analysis.collections import form as collection_form
from riffract.analysis.hand import grip as hand_grip
from riffract.analysis.hand import words as hand_words
from riffract.analysis.mirrors import finding as mirror_finding
from riffract.analysis.patterns import chance as pattern_chance
from riffract.analysis.saying import ENGLISH
from riffract.essay.shot_list import SAFE_LISTENING
from riffract.essay.shots import SceneName
from riffract.picture import fabric
from riffract.picture.clock import words as clock_words
from riffract.picture.look import PAPER
from riffract.publish import checks, report
from riffract.publish.evidence import facts as evidence
from riffract.publish.handout import glossary
from riffract.publish.handout import words as handout_words
from riffract.publish.handout.reading_help import samples
from riffract.publish.languages import words_table
from riffract.publish.measure_names import MEASURE_NAMES
from riffract.sound.alignment.checking import COULD_BE_CHANCE
from riffract.weighing import of_sequences
from riffract.weighing.study import VERDICT_NAMES

SOURCE: Final = Path(__file__).parents[1] / "src" / "riffract"


def phrases() -> frozenset[str]:
    """Give all phrases that do not count."""
    written = frozenset(call[0] for call in _calls("say", 1))
    joints = frozenset(call[1] for call in _calls("listed", 2) if len(call) == 2)
    return written | joints | frozenset(_from_tables_of_modules()) | frozenset(_tables())


def counted_phrases() -> frozenset[str]:
    """Give all phrases for several."""
    written = frozenset(call[2] for call in _calls("say_count", 3) if len(call) == 3)
    nouns = frozenset(f"{{number}} {call[-1]}" for call in _counted_nouns())
    values = frozenset(f"{{count}} {value.name}s" for value in wording.NOTE_VALUES)
    products = frozenset(f"{{number}} {several}" for _, several in hand_words.BY_PRODUCTS.values())
    return written | nouns | values | products


def _tables() -> Iterator[str]:
    """Give what stands in tables of the code, and is said from there."""
    yield from VERDICT_NAMES.values()
    yield from evidence.VERDICT_MEANINGS.values()
    yield from evidence.METHODS.values()
    yield from evidence.KIND_NAMES.values()
    yield from handout_words.HEADINGS.values()
    yield from report.QUESTIONS
    yield from (handout_words.SAFE_LISTENING, SAFE_LISTENING)
    yield from (sample.meaning for sample in samples(PAPER))
    for term in glossary.TERMS:
        yield from (term.word, term.meaning)
    yield from wording.NUMBERS
    yield from (f"{number} times" for number in wording.NUMBERS[3:])
    yield wording.ALL_BARS
    yield from mirror_finding.VOICES
    yield from (name for name, _ in hand_grip.ASSUMED_WEIGHTS)
    yield from (f"{value.name}s" for value in wording.NOTE_VALUES)
    for family in collection_form.FAMILIES:
        yield from (family.name, family.scale)
    yield from set_class.TURNED_NAMES.values()
    yield pattern_chance.CHANCE_MODEL
    yield from (name for name, _ in of_sequences.NULL_MODELS)
    yield from filter(None, (*interval_name.SIMPLE, *interval_name.OCTAVES))
    yield from fabric.HEARD.values()
    yield from (f"a {name}" for name in interval_name.SIMPLE)
    yield from clock_words.TURNS.values()
    yield from checks.NAMES
    for what, mend in checks.SENTENCES.values():
        yield from (what, mend)
    yield COULD_BE_CHANCE
    yield from MEASURE_NAMES
    yield from (f"picture: {scene}" for scene in SceneName)


def _from_tables_of_modules() -> Iterator[str]:
    """Give what is said from a constant or a table of its module: `say(MODEL)`, `say(VERBS[way])`.

    Of a mapping the keys are not said, its values are.
    """
    for path in sorted(SOURCE.rglob("*.py")):
        tree = ast.parse(path.read_text(encoding="utf-8"))
        tables = dict(_constants(tree))
        for node in ast.walk(tree):
            if _is_call(node, "say") and isinstance(node, ast.Call) and node.args:
                said = node.args[0]
                name = said.value if isinstance(said, ast.Subscript) else said
                if isinstance(name, ast.Name) and name.id in tables:
                    yield from _texts(tables[name.id])


def _constants(tree: ast.Module) -> Iterator[tuple[str, ast.expr]]:
    for node in tree.body:
        if isinstance(node, ast.AnnAssign) and node.value and isinstance(node.target, ast.Name):
            yield node.target.id, node.value
        elif isinstance(node, ast.Assign) and isinstance(node.targets[0], ast.Name):
            yield node.targets[0].id, node.value


def _texts(value: ast.expr) -> Iterator[str]:
    if isinstance(value, ast.Constant) and isinstance(value.value, str) and value.value:
        yield value.value
    elif isinstance(value, ast.Tuple):
        for one in value.elts:
            yield from _texts(one)
    elif isinstance(value, ast.Dict):
        for one in value.values:
            yield from _texts(one)
    elif isinstance(value, ast.Call):
        for one in value.args:
            yield from _texts(one)


def _is_call(node: ast.AST, name: str) -> bool:
    return isinstance(node, ast.Call) and isinstance(node.func, ast.Name) and node.func.id == name


def _calls(name: str, most: int) -> Iterator[list[str]]:
    for node in _nodes():
        if _is_call(node, name) and isinstance(node, ast.Call):
            given = node.args[:most]
            if all(isinstance(one, ast.Constant) for one in given[most - 1 :]):
                yield [str(getattr(one, "value", "")) for one in given]


def _counted_nouns() -> Iterator[list[str]]:
    """Give the nouns that are counted."""
    for node in _nodes("analysis", "picture", "publish"):
        if (
            _is_call(node, "counted")
            and isinstance(node, ast.Call)
            and len(node.args) > 1
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
