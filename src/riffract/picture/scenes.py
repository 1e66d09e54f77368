"""From the name of a scene to the scene."""

from collections.abc import Callable, Mapping
from types import MappingProxyType
from typing import Final

from riffract.analysis.finding import Kind
from riffract.essay.shots import SceneName, Shot
from riffract.picture.clock.scene import clock_scene
from riffract.picture.contour.scene import contour_scene
from riffract.picture.credits import credits_scene
from riffract.picture.fold.scene import fold_scene
from riffract.picture.growth.scene import growth_scene
from riffract.picture.hand.scene import hand_scene
from riffract.picture.metre.scene import metre_scene
from riffract.picture.page.scene import page_scene
from riffract.picture.scene import Page, Scene
from riffract.picture.stack.scene import stack_scene
from riffract.picture.thread.scene import thread_scene
from riffract.picture.title import title_scene
from riffract.picture.voices import chosen
from riffract.picture.weight.scene import weight_scene
from riffract.picture.whole.scene import whole_scene
from riffract.weighing.study import Study

SceneMaker = Callable[[Study, Shot, Page], Scene]

_MAKERS: Final[Mapping[SceneName, SceneMaker]] = MappingProxyType(
    {
        SceneName.TITLE: title_scene,
        SceneName.PAGE: page_scene,
        SceneName.CONTOUR: contour_scene,
        SceneName.FOLD: fold_scene,
        SceneName.STACK: stack_scene,
        SceneName.CLOCK: clock_scene,
        SceneName.THREAD: thread_scene,
        SceneName.GROWTH: growth_scene,
        SceneName.HAND: hand_scene,
        SceneName.METRE: metre_scene,
        SceneName.WEIGHT: weight_scene,
        SceneName.WHOLE: whole_scene,
        SceneName.CREDITS: credits_scene,
    }
)

_NEEDS: Final[Mapping[SceneName, Kind]] = MappingProxyType(
    {
        SceneName.FOLD: Kind.MIRROR,
        SceneName.STACK: Kind.PASSES,
        SceneName.THREAD: Kind.DRONE,
        SceneName.GROWTH: Kind.MOTIVE,
        SceneName.HAND: Kind.HAND,
        SceneName.METRE: Kind.METRE,
    }
)
"""What a scene cannot do without."""


def scene_for(study: Study, shot: Shot, page: Page) -> Scene:
    """Make the scene that a shot asks for; the page of strings if the study lacks what it needs."""
    needed = _NEEDS.get(shot.scene)
    if needed is not None and chosen(study, shot, needed) is None:
        return page_scene(study, shot, page)
    return _MAKERS.get(shot.scene, page_scene)(study, shot, page)
