"""What a recording says of the passage, for those who check an essay on paper."""

from collections.abc import Collection
from dataclasses import dataclass
from statistics import median

from riffract.analysis.saying import in_digits, say
from riffract.essay.doubts import note_place
from riffract.essay.hearing import Hearing
from riffract.music import Passage
from riffract.publish.doubt_words import doubt_text, unwritten_text
from riffract.publish.hearing_report import moment_text
from riffract.publish.wording import Fact
from riffract.sound.support import NoteSupport, Support


@dataclass(frozen=True, slots=True, kw_only=True)
class HeardFacts:
    """What is told of a recording.

    Attributes:
        facts: where the passage lies in it, how sure that is, how many notes it bears out.
        doubts: a sentence for each note that it does not, in order of time.
        by_ear: the same for those that the analyst hears as written all the same.
    """

    facts: tuple[Fact, ...]
    doubts: tuple[str, ...]
    by_ear: tuple[str, ...]


def heard_facts(passage: Passage, hearing: Hearing, by_ear: Collection[str]) -> HeardFacts:
    """Tell what listening gave.

    Args:
        passage: what is written.
        hearing: what was heard.
        by_ear: places of notes as `note_place` names them, which the analyst has listened to and
            left as they are.
    """
    doubted = [one for one in hearing.support.notes if one.support is not Support.BORNE_OUT]
    doubted.sort(key=lambda one: passage.notes[one.note].onset_quarters)
    kept = [one for one in doubted if note_place(passage, one.note) in by_ear]
    return HeardFacts(
        facts=_facts(hearing),
        doubts=(
            *(doubt_text(passage, one) for one in doubted if one not in kept),
            *(unwritten_text(passage, extra) for extra in hearing.support.unwritten),
        ),
        by_ear=tuple(doubt_text(passage, one) for one in kept),
    )


def _facts(hearing: Hearing) -> tuple[Fact, ...]:
    alignment, notes = hearing.alignment, hearing.support.notes
    attacks = [attack for stretch in alignment.stretches for attack in stretch.attacks]
    start, end = alignment.stretches[0].start_seconds, alignment.stretches[-1].end_seconds
    within = median(attack.uncertainty_seconds for attack in attacks)
    return (
        (say("file"), hearing.made_from.recording),
        (
            say("the passage"),
            say("{start} to {end}", start=moment_text(start), end=moment_text(end)),
        ),
        (
            say("tuned to"),
            say("A4 = {hertz} Hz", hertz=in_digits(f"{alignment.reference_hz:.1f}")),
        ),
        (
            say("attacks"),
            say(
                "{heard} of {all} heard; half of them within ±{ms} ms",
                heard=sum(attack.is_heard for attack in attacks),
                all=len(attacks),
                ms=f"{1000 * within:.0f}",
            ),
        ),
        (
            say("notes"),
            say(
                "{borne_out} of {all} borne out, {contradicted} contradicted, {unclear} unclear",
                borne_out=_count(notes, Support.BORNE_OUT),
                all=len(notes),
                contradicted=_count(notes, Support.CONTRADICTED),
                unclear=_count(notes, Support.UNCLEAR),
            ),
        ),
    )


def _count(notes: tuple[NoteSupport, ...], support: Support) -> int:
    return sum(one.support is support for one in notes)
