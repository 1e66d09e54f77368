"""The project keeps what its documents promise."""

import ast
import re
import subprocess
import sys
import tomllib
from pathlib import Path

import pytest

from riffract import __version__
from riffract.cli.usage.publish import PARTS
from riffract.cli.usage.study import KINDS
from riffract.essay.claims import ClaimEntry, PlayEntry
from riffract.essay.scene_fit import SHOWN_SCENES
from riffract.essay.settings import Film, Recording, Settings
from riffract.weighing.study import Verdict

ROOT = Path(__file__).parents[1]
DOCUMENTS = [ROOT / "README.md", ROOT / "CHANGELOG.md", *sorted((ROOT / "docs").rglob("*.md"))]
LINK = re.compile(r"\[[^\]]*\]\(([^)#\s]+)(#[^)]*)?\)")


@pytest.mark.parametrize("document", DOCUMENTS, ids=lambda p: p.relative_to(ROOT).as_posix())
def test_every_link_inside_the_documents_leads_somewhere(document):
    text = document.read_text(encoding="utf-8")
    targets = [t for t, _ in LINK.findall(text) if "://" not in t]
    missing = [t for t in targets if not (document.parent / t).exists()]
    assert missing == []


def test_the_first_paragraph_of_the_readme_says_whose_job_this_is():
    readme = (ROOT / "README.md").read_text(encoding="utf-8")
    first = readme.split("\n\n")[1]
    assert all(word in first for word in ("analyse", "guitar", "video essays", "riff", "handout"))


def test_every_command_kind_scene_part_and_verdict_is_documented():
    text = "\n".join(d.read_text(encoding="utf-8") for d in DOCUMENTS)
    words = [
        *("demo", "new", "check", "study", "compare", "corpus build", "publish"),
        *(kind.replace("_", " ").replace("collection change", "changes") for kind in KINDS),
        *PARTS,
        *SHOWN_SCENES,
        *(v.replace("_", " ") for v in Verdict if v is not Verdict.TRIVIAL),
        "trivially true",
    ]
    assert [word for word in words if word not in text] == []


def test_every_key_of_the_essays_files_is_documented():
    text = (ROOT / "docs" / "essay.md").read_text(encoding="utf-8")
    structs = (Settings, Film, Recording, ClaimEntry, PlayEntry)
    keys = {name for struct in structs for name in struct.__struct_fields__}
    assert [key for key in sorted(keys) if key not in text] == []


def test_the_example_settings_of_the_documents_can_be_read():
    from riffract.essay.claims import ClaimsFile
    from riffract.essay.toml.values import Checked, checked

    text = (ROOT / "docs" / "essay.md").read_text(encoding="utf-8")
    settings, claims = re.findall(r"```toml\n(.*?)```", text, re.DOTALL)
    for example, kind in ((settings, Settings), (claims, ClaimsFile)):
        read = checked(example, kind)
        assert isinstance(read, Checked)
        assert read.problems == ()


def test_the_changelog_speaks_of_this_version():
    assert f"## {__version__}" in (ROOT / "CHANGELOG.md").read_text(encoding="utf-8")


@pytest.mark.parametrize("name", ["run.txt", "test.txt"])
def test_every_pin_has_hashes_and_no_address(name):
    text = (ROOT / "requirements" / name).read_text(encoding="utf-8")
    entries = re.split(r"\n(?=\S)", text.strip())
    assert all("==" in entry and "--hash=sha256:" in entry for entry in entries)
    assert "://" not in text


def test_all_that_the_package_needs_is_pinned():
    project = tomllib.loads((ROOT / "pyproject.toml").read_text(encoding="utf-8"))["project"]
    pinned = (ROOT / "requirements" / "run.txt").read_text(encoding="utf-8")
    names = [re.split(r"[><=]", need)[0] for need in project["dependencies"]]
    assert [name for name in names if not re.search(rf"^{name}==", pinned, re.MULTILINE)] == []


def test_run_py_explains_itself_and_refuses_what_it_does_not_know():
    command = [sys.executable, str(ROOT / "run.py")]
    shown = subprocess.run([*command, "--help"], capture_output=True, text=True, check=True)
    assert "run.py demo" in shown.stdout
    refused = subprocess.run([*command, "dance"], capture_output=True, text=True, check=False)
    assert refused.returncode == 2


def test_run_py_can_be_read_by_an_older_python_to_refuse_it():
    # From memory: the developer tools of macOS bring Python 3.9.
    text = (ROOT / "run.py").read_text(encoding="utf-8")
    assert ast.parse(text, feature_version=(3, 9))
    with pytest.raises(SyntaxError):
        ast.parse("match text:\n    case _:\n        pass", feature_version=(3, 9))


def test_help_imports_nothing_heavy():
    code = (
        "import sys\nfrom riffract.cli.main import main\n"
        "try:\n    main(['--help'])\nexcept SystemExit:\n    pass\n"
        "heavy = {'numpy', 'av', 'skia', 'typst', 'lxml', 'msgspec', 'rich', 'uharfbuzz', 'duckdb'}"
        "\n"
        "sys.stderr.write(' '.join(sorted(heavy & set(sys.modules))))"
    )
    ran = subprocess.run([sys.executable, "-c", code], capture_output=True, text=True, check=True)
    assert ran.stderr == ""
