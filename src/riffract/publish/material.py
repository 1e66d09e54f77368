"""What everything that goes out is made from, put together from an essay and its study."""

from collections.abc import Callable, Mapping, Sequence
from dataclasses import dataclass, replace
from functools import cache, partial
from hashlib import file_digest
from typing import Final

from riffract.analysis.saying import ENGLISH, Language, said_in
from riffract.essay.by_hand.measured import HandMeasured, set_by_hand_in
from riffract.essay.claims import Claim
from riffract.essay.doubts import doubts_of
from riffract.essay.folder import CLAIMS_FILE, SETTINGS_FILE, Essay, FileProblem
from riffract.essay.hearing import ALIGNMENT_FILE, is_of_notes
from riffract.essay.settings import HandoutSettings
from riffract.essay.shot_list import shot_list
from riffract.essay.shots import Shot
from riffract.essay.soundtrack import Soundtrack, soundtrack
from riffract.essay.takes import read_takes, take_seconds
from riffract.essay.translation import (
    missing_words,
    read_translation,
    translated_claims,
    translated_settings,
    words_file,
)
from riffract.formats.tab import UnwritableError, write_tab
from riffract.music import Passage
from riffract.picture.look import Look
from riffract.picture.scene import WIDE, Page, Scene, page_for
from riffract.picture.scenes import scene_for
from riffract.publish.about import About
from riffract.publish.film.overlay import OverlayKind
from riffract.publish.heard_facts import HeardFacts, heard_facts
from riffract.publish.languages import language_for
from riffract.sound.amp import Tone
from riffract.sound.loudness import CEILING_DBTP, TARGET_LUFS
from riffract.sound.sound import Sound
from riffract.weighing.study import Study

TAB_WIDTH: Final = 100

_PLAIN_HANDOUT: Final = HandoutSettings()


@dataclass(frozen=True, slots=True, kw_only=True)
class Material:
    """What everything is made from.

    Attributes:
        study: the passage and its findings.
        shots: the film, shot by shot.
        scenes: the picture of each shot, in the same order.
        stills: the same as a picture that stands alone, with all in it to see at once.
        figures: the same for the handout, on a wide page.
        soundtrack: makes the film's sound; it is asked only if there is something to hear, and
            each time gives the same.
        about: title, credits and rights.
        tab_text: the passage as plain-text tab.
        sources: names of the files that the essay was made from.
        sums: works out the SHA-256 of those of them that are there, by name.
        look: the colours of film and stills; the handout is always on paper.
        width, height: of the film, px.
        frames_a_second: of the film.
        target_lufs: what the film's sound was brought to.
        ceiling_dbtp: what its true peaks should stay below.
        despite_flashing: whether a film that flashes too much is written all the same.
        overlay: what an overlay is written as.
        handout: its paper, and whether there is one with questions.
        earlier: passages that the music grows out of, the earliest first.
        alignment: the bytes of `alignment.json`; `None` if there is no recording that was heard.
        language: that everything is in.
        overlay_scenes: makes the pictures of the overlay; without it they are those of the film.
        by_hand: what the analyst has set by hand.
        heard: what a recording says of the passage; `None` if none was listened to.
        passage_title: what the passage is called in the language of the film; empty if as it is.
    """

    study: Study
    shots: Sequence[Shot]
    scenes: Sequence[Scene]
    stills: Sequence[Scene]
    figures: Sequence[Scene]
    soundtrack: Callable[[], Soundtrack]
    about: About
    tab_text: str
    sources: Sequence[str]
    look: Look
    width: int = 1920
    height: int = 1080
    frames_a_second: int = 30
    target_lufs: float = TARGET_LUFS
    ceiling_dbtp: float = CEILING_DBTP
    despite_flashing: bool = False
    overlay: OverlayKind = OverlayKind.PRORES
    overlay_scenes: Callable[[], Sequence[Scene]] | None = None
    handout: HandoutSettings = _PLAIN_HANDOUT
    sums: Callable[[], Mapping[str, str]] = dict
    earlier: Sequence[Passage] = ()
    alignment: bytes | None = None
    language: Language = ENGLISH
    by_hand: Sequence[HandMeasured] = ()
    heard: HeardFacts | None = None
    passage_title: str = ""

    @property
    def seen(self) -> Study:
        """What pictures are drawn from: the passage is called as the film's language calls it."""
        return titled(self.study, self.passage_title or self.study.passage.title)

    def __post_init__(self) -> None:
        pictures = {len(self.scenes), len(self.stills), len(self.figures)}
        if pictures != {len(self.shots)}:
            raise ValueError(
                f"each shot needs its scene, still and figure, got {len(self.shots)} shots and "
                f"{sorted(pictures)} pictures"
            )


def shots_of(essay: Essay, claims: Sequence[Claim]) -> tuple[Shot, ...]:
    """Lay out an essay's film in its language: title, a shot a claim, credits."""
    translation, _ = read_translation(essay.folder, essay.settings.language)
    settings = translated_settings(essay.settings, translation)
    return shot_list(
        translated_claims(claims, translation),
        essay.time_map,
        title=translation.of(essay.title),
        subtitle=settings.subtitle,
        credits_lines=settings.credits,
        rights=settings.rights,
        take_seconds=take_seconds(essay.folder, claims),
        doubts=doubts_of(essay.hearing, essay.passage, essay.settings.heard_by_ear),
    )


def material_of(
    essay: Essay,
    study: Study,
    claims: Sequence[Claim],
    recording: Sound | None,
    look: Look,
) -> Material:
    """Put together what an essay's film, stills and papers are made from.

    Args:
        essay: its settings and passage.
        study: of the passage.
        claims: in order.
        recording: read; `None` if there is none, or no film is wanted.
        look: the colours.
    """
    translation, _ = read_translation(essay.folder, essay.settings.language)
    language, _ = language_for(translation)
    settings = translated_settings(essay.settings, translation)
    film = settings.film
    with said_in(language):
        shots = shots_of(essay, claims)
    width, height = film.size_px
    page = page_for(width, height)
    passage_title = translation.of(study.passage.title)
    seen = titled(study, passage_title)
    with said_in(language):
        scenes = [scene_for(seen, shot, page) for shot in shots]
        stills = [_still_of(seen, shot, page) for shot in shots]
        figures = [_still_of(seen, shot, WIDE) for shot in shots]
        by_hand = set_by_hand_in(essay.folder, essay.passage, seed=settings.seed).measured
    return Material(
        study=study,
        shots=shots,
        scenes=scenes,
        stills=stills,
        figures=figures,
        soundtrack=cache(partial(film_soundtrack, essay, claims, shots, recording)),
        about=About(
            title=translation.of(essay.title),
            subtitle=settings.subtitle,
            credits=settings.credits,
            rights=settings.rights,
        ),
        tab_text=_tab_text(essay.passage),
        sources=_sources(essay),
        sums=partial(_sums, essay),
        look=look,
        width=width,
        height=height,
        frames_a_second=film.frames_per_second,
        target_lufs=film.loudness_lufs,
        ceiling_dbtp=film.peak_dbtp,
        overlay=OverlayKind(film.overlay),
        overlay_scenes=None if film.overlay_captions else partial(_unsaid, seen, shots, page),
        handout=settings.handout,
        earlier=essay.earlier,
        alignment=_alignment(essay),
        language=language,
        by_hand=by_hand,
        heard=_heard(essay, language),
        passage_title=passage_title,
    )


def titled(study: Study, title: str) -> Study:
    """Call the passage of a study what it is called in the language of the film."""
    return replace(study, passage=replace(study.passage, title=title))


def _heard(essay: Essay, language: Language) -> HeardFacts | None:
    """Tell what listening gave, unless a note has changed since."""
    hearing = essay.hearing
    if not is_of_notes(hearing, essay.passage):
        return None
    with said_in(language):
        return heard_facts(essay.passage, hearing, essay.settings.heard_by_ear)


def language_of(essay: Essay) -> Language:
    """Give the language that an essay's film and papers are in."""
    translation, _ = read_translation(essay.folder, essay.settings.language)
    return language_for(translation)[0]


def translation_problems(essay: Essay, claims: Sequence[Claim]) -> tuple[FileProblem, ...]:
    """Tell what is wrong with an essay's words in its language, or missing among them."""
    translation, found = read_translation(essay.folder, essay.settings.language)
    _, unfit = language_for(translation)
    missing = missing_words(essay.settings, claims, translation)
    file = str(essay.folder / words_file(translation.code))
    return tuple(FileProblem(file=file, problem=p) for p in (*found, *unfit, *missing))


def _alignment(essay: Essay) -> bytes | None:
    """Give the file that says when everything sounds, if it still holds for this music."""
    if essay.hearing is None:
        return None
    return (essay.folder / ALIGNMENT_FILE).read_bytes()


def _unsaid(study: Study, shots: Sequence[Shot], page: Page) -> list[Scene]:
    """Draw the shots without the words that are said."""
    return [scene_for(study, replace(shot, lines=()), page) for shot in shots]


def _still_of(study: Study, shot: Shot, page: Page) -> Scene:
    """Draw a shot with nothing playing: all is lit, and the page is the one it starts to play."""
    return scene_for(study, shot.as_still(), page)


def _tab_text(passage: Passage) -> str:
    """Write the passage as tab, or say why it cannot be written as one."""
    try:
        return write_tab(passage, width=TAB_WIDTH)
    except UnwritableError as error:
        reasons = [f"# {p.what} ({p.place})" if p.place else f"# {p.what}" for p in error.problems]
        return "\n".join(["# A tab cannot say all of this passage:", *reasons[:12], ""])


def film_soundtrack(
    essay: Essay, claims: Sequence[Claim], shots: Sequence[Shot], recording: Sound | None
) -> Soundtrack:
    """Make the sound of the whole film: what is played, and what is spoken over it."""
    film = essay.settings.film
    return soundtrack(
        shots,
        essay.passage,
        recording=recording,
        tone=Tone(film.tone),
        seed=essay.settings.seed,
        takes=read_takes(essay.folder, claims),
        duck_db=film.duck_db,
        target_lufs=film.loudness_lufs,
        ceiling_dbtp=film.peak_dbtp,
    )


def _sources(essay: Essay) -> list[str]:
    names = [essay.settings.passage]
    if (essay.folder / SETTINGS_FILE).is_file():
        names = [SETTINGS_FILE, *names]
    names += [passage.source for passage in essay.earlier]
    if essay.claims_source is not None:
        names.append(CLAIMS_FILE)
    if essay.settings.recording is not None:
        names.append(essay.settings.recording.file)
    return names


def _sums(essay: Essay) -> dict[str, str]:
    """Sum up the files that the essay was made from; a recording may be long, so not in memory."""
    sums = {}
    for name in _sources(essay):
        path = essay.folder / name
        if path.is_file():
            with path.open("rb") as file:
                sums[name] = file_digest(file, "sha256").hexdigest()
    return sums
