"""Settings that are no TOML are told with their place, and nothing else breaks."""

import asyncio
from collections.abc import Callable
from concurrent.futures import ThreadPoolExecutor
from pathlib import Path

import pytest
from tests.studio.opened import demo_essay

from riffract.studio.problems import RefusedError
from riffract.studio.settings_change import change_part, settings_of
from riffract.studio.studio import Studio


def with_broken_settings(tmp_path: Path, use: Callable[[Studio], None]) -> None:
    """Use an app whose essay has a mistake on the last line of its settings."""
    folder = demo_essay(tmp_path / "tide")
    with (folder / "essay.toml").open("a", encoding="utf-8") as file:
        file.write("\n[film\n")

    async def run() -> None:
        studio = Studio(state=tmp_path / "state")
        studio.open(folder)
        try:
            use(studio)
        finally:
            studio.close()

    with ThreadPoolExecutor(max_workers=1) as thread:
        thread.submit(lambda: asyncio.run(run())).result()


def test_they_are_refused_with_their_line(tmp_path: Path):
    def use(studio: Studio) -> None:
        lines = studio.open_document.texts["essay.toml"].splitlines()
        for ask in (
            settings_of,
            lambda s: change_part(s, "film", "x", lambda _: None, desk="show"),
        ):
            with pytest.raises(RefusedError) as refused:
                ask(studio)
            assert refused.value.problem.place == f"essay.toml, line {len(lines)}"
            assert refused.value.problem.mend

    with_broken_settings(tmp_path, use)
