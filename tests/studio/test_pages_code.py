"""The code of the pages: its types by its compiler, its pure parts by its test runner."""

import os
import shutil
import subprocess
from pathlib import Path

import pytest

HERE = Path(__file__).parent / "js"
PAGES = Path(__file__).parents[2] / "src" / "riffract" / "studio" / "pages"
COMPILER = HERE / "node_modules" / "typescript" / "bin" / "tsc"


def _needs(thing: object, what: str) -> None:
    if not thing:
        if os.environ.get("CI") and shutil.which("npm"):
            pytest.fail(f"CI needs {what}")
        pytest.skip(f"{what} is not here: the pages' code is not checked")


def test_types_hold():
    _needs(shutil.which("node") and COMPILER.is_file(), "the compiler (npm ci in tests/studio/js)")
    done = subprocess.run(
        ["node", str(COMPILER), "-p", str(HERE)], capture_output=True, text=True, check=False
    )
    assert done.returncode == 0, done.stdout


def test_pure_parts_work():
    node = shutil.which("node")
    _needs(node, "Node")
    tests = sorted(map(str, HERE.glob("*.test.js")))
    done = subprocess.run(
        [str(node), "--test", *tests], capture_output=True, text=True, check=False
    )
    assert done.returncode == 0, done.stdout + done.stderr


def test_pages_load_nothing_from_elsewhere_and_put_no_code_into_markup():
    for file in (*PAGES.rglob("*.js"), *PAGES.rglob("*.html"), *PAGES.rglob("*.css")):
        if "vendor" in file.parts:
            continue
        text = file.read_text(encoding="utf-8")
        outside = text.replace("http://www.w3.org/", "").replace("ws://${location.host}", "")
        assert "http://" not in outside, file
        assert "https://" not in outside, file
        assert "eval(" not in text, file
        assert "innerHTML" not in text or "desks" in file.parts, file
