"""Pictures from Python: a finding, or a whole passage, as the film would show it at rest."""

from collections.abc import Callable, Mapping
from dataclasses import dataclass, field
from pathlib import Path
from types import MappingProxyType
from typing import Final

from riffract.analysis.saying import said_in
from riffract.essay.beside import write_whole
from riffract.essay.proposals.suggested_claim import suggested_claim
from riffract.essay.scene_fit import SHOWN_SCENES, unfit_scene
from riffract.essay.shots import SceneName, Shot
from riffract.picture.look import DARK, LOOKS, Look
from riffract.picture.scene import WIDE, Page, Scene
from riffract.picture.scenes import scene_for
from riffract.publish.stills import Still, still_pdf, still_png, still_svg
from riffract.weighing.study import Study, WeighedFinding

_WRITERS: Final[Mapping[str, Callable[[Still, Look], bytes]]] = MappingProxyType(
    {
        ".svg": lambda still, look: still_svg(still, look).encode(),
        ".png": still_png,
        ".pdf": still_pdf,
    }
)


@dataclass(frozen=True, slots=True, kw_only=True)
class Drawing:
    """A picture at rest. A notebook shows it by itself.

    Attributes:
        title: what it claims.
        scene: its marks.
        look: its colours.
    """

    title: str
    scene: Scene = field(repr=False)
    look: Look = field(default=DARK, repr=False)

    @property
    def description(self) -> str:
        """The picture in words."""
        return self.scene.description

    @property
    def svg(self) -> str:
        """The picture as an SVG document."""
        return still_svg(self._still, self.look)

    def save(self, path: str | Path) -> Path:
        """Write the picture as SVG, PNG or PDF, by the ending of the file's name.

        Raises:
            ValueError: if the ending is another.
        """
        path = Path(path)
        write = _WRITERS.get(path.suffix.lower())
        if write is None:
            raise ValueError(
                f"a drawing is saved as {', '.join(_WRITERS)}, got {path.suffix or path.name}"
            )
        write_whole(path, write(self._still, self.look))
        return path

    @property
    def _still(self) -> Still:
        return Still(name="drawing", title=self.title, scene=self.scene)

    def _repr_svg_(self) -> str:
        return self.svg


def draw(
    study: Study,
    finding: WeighedFinding | str | None = None,
    *,
    scene: str | None = None,
    look: str | Look = "dark",
    page: Page = WIDE,
) -> Drawing:
    """Draw a finding, or the whole passage.

    Args:
        study: of the passage.
        finding: one of the study's, or its id; without one the passage is drawn.
        scene: what picture; the one that suits the finding if not given.
        look: `dark`, `paper`, or colours of your own.
        page: its size in px.

    Raises:
        ValueError: if there is no such finding, scene or look, or the scene cannot show it.
    """
    found = _found(study, finding) if isinstance(finding, str) else finding
    shown, title = _scene_and_title(study, found)
    name = shown if scene is None else _scene_named(scene)
    unfit = unfit_scene(name, found, study)
    if unfit is not None and scene is not None:
        raise ValueError(f"{unfit.what}; {unfit.mend}")
    shot = Shot(
        name="drawing",
        scene=name,
        title=title,
        lines=(),
        plays=(),
        length_seconds=1.0,
        findings=() if found is None else (found,),
    )
    return Drawing(title=title, scene=scene_for(study, shot, page), look=_look(look))


def _scene_and_title(study: Study, found: WeighedFinding | None) -> tuple[SceneName, str]:
    """Choose a picture and its words as a claim would be suggested."""
    passage = study.passage
    if found is None:
        return SceneName.PAGE, passage.title or "The passage"
    with said_in(study.language):
        claim = suggested_claim(found, passage, opening=passage.span)
    return claim.scene, claim.title


def _found(study: Study, name: str) -> WeighedFinding:
    for weighed in study.findings:
        if weighed.finding.id == name:
            return weighed
    known = ", ".join(weighed.finding.id for weighed in study.findings[:6])
    raise ValueError(f"the study has no finding {name!r}; its first ones are {known or 'none'}")


def _scene_named(name: str) -> SceneName:
    if name not in SHOWN_SCENES:
        raise ValueError(f"scene is one of {', '.join(SHOWN_SCENES)}, got {name!r}")
    return SceneName(name)


def _look(look: str | Look) -> Look:
    if isinstance(look, Look):
        return look
    if look not in LOOKS:
        raise ValueError(f"look is one of {', '.join(LOOKS)}, got {look!r}")
    return LOOKS[look]
