"""From an essay to what goes out of it: the one way that the command, Python and the app go."""

from collections.abc import Collection
from dataclasses import dataclass, replace
from pathlib import Path

from riffract.analysis.saying import said_in
from riffract.analysis.wording import counted
from riffract.essay.claims import Claim
from riffract.essay.doubts import doubts_of
from riffract.essay.folder import Essay, FileProblem, claims_of
from riffract.essay.recorded import recorded_sound
from riffract.formats.problem import Problem, Severity
from riffract.picture.essay_look import look_of
from riffract.picture.look_file import OwnLook
from riffract.picture.type import set_in
from riffract.publish.material import language_of, material_of, translation_problems
from riffract.publish.package import Report, publish
from riffract.publish.parts import SOUNDING_PARTS, Part
from riffract.publish.published import Published
from riffract.sound.sound import Sound
from riffract.weighing.study import Study
from riffract.weighing.weigh import study_passage


@dataclass(frozen=True, slots=True, kw_only=True)
class GoingOut:
    """An essay with all that is chosen and drawn of it.

    Attributes:
        essay: its files.
        study: of its passage.
        claims: in order.
        own: its look.
    """

    essay: Essay
    study: Study
    claims: tuple[Claim, ...]
    own: OwnLook

    def recording(self, parts: Collection[Part]) -> Sound | FileProblem | None:
        """Read the recording, if there is one and one of the parts needs it."""
        return recorded_sound(self.essay) if SOUNDING_PARTS & set(parts) else None

    def publish(
        self,
        parts: Collection[Part],
        recording: Sound | None,
        *,
        out: Path | None = None,
        despite_flashing: bool = False,
        report: Report = lambda _what, _share: None,
    ) -> Published:
        """Make parts of it.

        Args:
            parts: what to make.
            recording: read; only parts that sound need it.
            out: where to; the essay's own folder if not given.
            despite_flashing: whether a film that flashes too much is written all the same.
            report: is told how far it is.
        """
        with set_in(self.own.family):
            material = material_of(self.essay, self.study, self.claims, recording, self.own.look)
            material = replace(material, despite_flashing=despite_flashing)
            return publish(material, out or self.essay.out, parts, report=report)


def going_out(
    essay: Essay, study: Study | None = None
) -> tuple[GoingOut | None, tuple[FileProblem, ...]]:
    """Study an essay's passage, take its claims, its words and its look.

    Args:
        essay: its files.
        study: of its passage, if there is one already.

    Returns:
        What goes out, `None` if an error is in the way; and all that is wrong, or only odd.
    """
    if study is None:
        with said_in(language_of(essay)):
            study = study_passage(essay.passage, seed=essay.settings.seed, earlier=essay.earlier)
    claims, wrong = claims_of(essay, study)
    own, odd = look_of(essay)
    problems = (*wrong, *translation_problems(essay, claims), *odd, *_contradicted(essay))
    if own is None or any(problem.is_error for problem in problems):
        return None, problems
    return GoingOut(essay=essay, study=study, claims=claims, own=own), problems


def _contradicted(essay: Essay) -> tuple[FileProblem, ...]:
    """Warn of notes that the recording contradicts and nobody has decided about."""
    doubts = doubts_of(essay.hearing, essay.passage, essay.settings.heard_by_ear)
    count = sum(doubt.is_contradicted for doubt in doubts)
    if not count:
        return ()
    problem = Problem(
        what=f"the recording contradicts {counted(count, 'note')} of the passage",
        mend="listen: `riffract hear` lists them; mend the text, or let `heard` in the part "
        "[recording] say that you hear them as written",
        severity=Severity.WARNING,
    )
    return (FileProblem(file=str(essay.folder / essay.settings.passage), problem=problem),)
