"""A folder that is moved while its essay is open is told, and nothing of the essay goes with it."""

import asyncio
from concurrent.futures import ThreadPoolExecutor
from pathlib import Path

import pytest
from tests.studio.opened import demo_essay

from riffract.studio.channel import Channel
from riffract.studio.problems import RefusedError
from riffract.studio.studio import SAVED_EVERY_SECONDS, Studio


def test_a_folder_that_is_gone_is_told_and_its_files_do_not_count_as_deleted(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    folder = demo_essay(tmp_path / "tide")
    monkeypatch.chdir(tmp_path)
    told: list[str] = []

    async def use() -> None:
        studio = Studio(state=tmp_path / "state")
        studio.open(Path("tide"))
        assert studio.folder == folder
        texts = dict(studio.open_document.texts)

        async def tell(_channel: Channel, event: str, **facts: object) -> None:
            told.append(f"{event}: {facts.get('why')}")

        monkeypatch.setattr(Channel, "tell", tell)
        keeping = asyncio.create_task(studio.keep_files())
        folder.rename(tmp_path / "moved")
        with pytest.raises(RefusedError, match="not there any more") as refused:
            _ = studio.folder
        assert "put it back" in refused.value.problem.mend
        while f"unsaved: {folder} is not there any more" not in told:
            await asyncio.sleep(SAVED_EVERY_SECONDS)
        (tmp_path / "moved").rename(folder)
        assert studio.folder == folder
        assert studio.open_document.texts == texts
        keeping.cancel()
        studio.close()

    # A browser's driver may keep a loop in this thread.
    with ThreadPoolExecutor() as thread:
        thread.submit(lambda: asyncio.run(asyncio.wait_for(use(), timeout=30))).result()
