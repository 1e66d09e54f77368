"""A passage with its weighed findings."""

from collections.abc import Iterator, Mapping
from dataclasses import dataclass
from enum import StrEnum
from typing import Final

from riffract.analysis.finding import Finding, Ignored, Kind
from riffract.analysis.saying import ENGLISH, Language
from riffract.music import Passage
from riffract.music.html_table import facts_html, table_html
from riffract.weighing.chance import Chance


class Verdict(StrEnum):
    """How solid a finding is.

    `FIRM`: q ≤ 0.01, no rival within 3 bits, survives leaving out any note. `LIKELY`: q ≤ 0.05.
    `SUGGESTIVE`: p ≤ 0.05 before paying for everything that was looked at.
    `TRIVIAL`: could not have come out otherwise.
    """

    FIRM = "firm"
    LIKELY = "likely"
    SUGGESTIVE = "suggestive"
    NOT_BEYOND_CHANCE = "not_beyond_chance"
    TRIVIAL = "trivial"


VERDICT_NAMES: Final[Mapping[Verdict, str]] = {
    Verdict.FIRM: "firm",
    Verdict.LIKELY: "likely",
    Verdict.SUGGESTIVE: "suggestive",
    Verdict.NOT_BEYOND_CHANCE: "not beyond chance",
    Verdict.TRIVIAL: "trivially true",
}
"""The verdicts as a reader meets them."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Rival:
    """Another explanation of the same notes.

    Attributes:
        description: what it says, or the id of the finding that says it.
        bits: how far it is behind; 0 if it explains as well, negative if it is shorter.
    """

    description: str
    bits: float


@dataclass(frozen=True, slots=True, kw_only=True)
class WeighedFinding:
    """A finding with what speaks for and against it.

    Attributes:
        finding: the answer and its evidence.
        verdict: how solid it is.
        chance: how often the null model did as well; `None` where no chance is involved.
        q: the p value adjusted for all that was looked at; `None` without `chance`.
        log10_bayes: evidence against the null description; `None` where none is defined.
        rivals: other explanations, nearest first.
        survives: whether it would still be likely without any one of its notes; `None` if it is
            not likely with all of them.
        carried_by: index of the note that it does not stand without; `None` if there is no such
            note, or several of them would each do.
        follows_from: names of solid findings that say this already.
    """

    finding: Finding
    verdict: Verdict
    chance: Chance | None
    q: float | None
    log10_bayes: float | None
    rivals: tuple[Rival, ...]
    survives: bool | None = None
    carried_by: int | None = None
    follows_from: tuple[str, ...] = ()

    @property
    def is_solid(self) -> bool:
        """Whether it is sure enough to be put forward as a claim."""
        return self.verdict in {Verdict.FIRM, Verdict.LIKELY}

    def _repr_html_(self) -> str:
        """Show the finding and its numbers in a notebook."""
        return facts_html(self.finding.sentence, self._facts())

    def _facts(self) -> Iterator[tuple[str, str]]:
        yield "verdict", VERDICT_NAMES[self.verdict]
        yield "kind", self.finding.kind.replace("_", " ")
        yield "in the terms of the field", self.finding.detail
        for name, value in self.finding.measures.items():
            yield name.replace("_", " "), _number(value)
        if self.chance is not None:
            yield "p, against chance", f"{_number(self.chance.p)}; {self.chance.model}"
        if self.q is not None:
            yield "q, paid for all that was asked", _number(self.q)
        for rival in self.rivals:
            yield "or else", f"{rival.description} ({_number(rival.bits)} bits behind)"
        yield "id", self.finding.id


@dataclass(frozen=True, slots=True, kw_only=True)
class Study:
    """All that was found in a passage, and what was left out.

    Attributes:
        passage: what was studied.
        findings: by kind, then most solid first.
        ignored: what the analyses did not look at, and why.
        seed: of every random draw.
        asked: how many questions were asked of chance, those that found nothing among them; q
            pays for so many.
        earlier: passages that it may grow out of, the earliest first.
        language: that its sentences are in.
    """

    passage: Passage
    findings: tuple[WeighedFinding, ...]
    ignored: tuple[Ignored, ...]
    seed: int
    asked: int = 0
    earlier: tuple[Passage, ...] = ()
    language: Language = ENGLISH

    def of_kind(self, kind: Kind) -> tuple[WeighedFinding, ...]:
        """Give the findings of one kind, in order."""
        return tuple(f for f in self.findings if f.finding.kind is kind)

    def _repr_html_(self) -> str:
        """Show the findings in a notebook, a row each, with the first place where each is heard."""
        count = len(self.findings)
        caption = (
            f"{self.passage.title or 'A passage'}: {count} finding{'' if count == 1 else 's'}, "
            f"{self.asked} questions asked of chance, seed {self.seed}"
        )
        heads = ("finding", "kind", "from", "verdict", "p", "q")
        return table_html(caption, heads, map(self._row, self.findings))

    def _row(self, weighed: WeighedFinding) -> tuple[str, ...]:
        finding = weighed.finding
        starts = [span.start_quarters for span in finding.spans]
        return (
            finding.sentence,
            finding.kind.replace("_", " "),
            str(self.passage.place(min(starts))) if starts else "",
            VERDICT_NAMES[weighed.verdict],
            "" if weighed.chance is None else _number(weighed.chance.p),
            "" if weighed.q is None else _number(weighed.q),
        )


def _number(value: float) -> str:
    """Write a number as a table shows it: three digits of it.

    >>> _number(0.00123456), _number(12)
    ('0.00123', '12')
    """
    return f"{value:.3g}"
