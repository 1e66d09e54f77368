"""Build the site of the documents: python -m tools.docs_site [FOLDER]

The pages are those of `docs/`; the notebooks become pages with what they show, and the reference is
made from the docstrings of what Python users call. A warning fails the build.
"""

import re
import shutil
import sys
from base64 import b64encode
from collections.abc import Iterator, Mapping, Sequence
from fnmatch import fnmatch
from functools import partial
from io import StringIO
from pathlib import Path
from re import Match
from tempfile import TemporaryDirectory
from types import MappingProxyType
from typing import Any, Final

import nbformat
from nbclient import NotebookClient
from sphinx.application import Sphinx
from sphinx.util.docutils import docutils_namespace, patch_docutils

import riffract

ROOT: Final = Path(__file__).parents[1]
DOCS: Final = ROOT / "docs"
SITE: Final = ROOT / "build" / "site"
STYLE: Final = Path(__file__).with_suffix(".css")
"""What is added to the theme, which looks for it under a name of its own."""

SECTIONS: Final[Mapping[str, Sequence[str]]] = MappingProxyType(
    {
        "First steps": (
            "first-essay",
            "notebooks/a-first-riff",
            "notebooks/a-mirror-that-bends",
            "notebooks/how-unusual-is-it",
        ),
        "How to": (
            *("study", "app*", "essay", "publish", "page", "handout", "captions", "packages"),
            *("convert", "pasted-tab", "musicxml", "musicxml-out", "midi"),
            *("recordings", "hear", "listening", "corpus"),
        ),
        "What is computed, and by whose definition": (
            *("passes", "mirrors", "harmony", "growth", "patterns", "metre", "hand", "weighing"),
            *("support", "alignment", "sound", "picture", "thresholds"),
        ),
        "To look things up": ("tab-format", "reference"),
        "Why it is so": ("decisions/*",),
    }
)
"""Pages by what their reader wants; one that is not named here comes last."""

MODULES: Final = (
    *("riffract.from_python", "riffract.drawing", "riffract.publishing"),
    *("riffract.music.passage", "riffract.music.notes", "riffract.music.span"),
    *("riffract.music.tuning", "riffract.music.metre", "riffract.music.time_map"),
    *("riffract.analysis.finding", "riffract.weighing.study", "riffract.weighing.chance"),
    *("riffract.publish.answer", "riffract.publish.parts", "riffract.publish.published"),
)
"""What the reference is about: what the three verbs take and give."""

OUTSIDE: Final = re.compile(r"\]\(\.\./((?:src|bench)/[^)#]+)\)")
"""A link from a page of `docs/` to a file of the project that is no page."""

DESCRIPTION: Final = re.compile(r"<desc[^>]*>([^<]*)</desc>")
"""What a drawing says of itself in words; it is escaped already."""

_MENDED: Final[Mapping[str, str]] = MappingProxyType(
    {
        'class="caption" role="heading">': 'class="caption" role="heading" aria-level="3">',
        "<h3>Navigation</h3>": "<h2>Navigation</h2>",
        "<pre>": '<pre tabindex="0">',
        '<table class="docutils': '<table tabindex="0" class="docutils',
        "<table>": '<table tabindex="0">',
    }
)
"""What the theme writes, and what it should."""

OPTIONS: Final[Mapping[str, Any]] = MappingProxyType(
    {
        "project": "Riffract",
        "version": riffract.__version__,
        "release": riffract.__version__,
        "extensions": ["myst_parser", "sphinx.ext.autodoc", "sphinx.ext.napoleon"],
        "html_theme": "alabaster",
        "html_theme_options": {
            "description": "from a riff to a film that explains it",
            "page_width": "1120px",
            "body_max_width": "auto",
        },
        "html_static_path": ["_static"],
        "html_show_sphinx": False,
        "html_show_copyright": False,
        "pygments_style": "xcode",
        "html_copy_source": False,
        "default_role": "code",
        "myst_heading_anchors": 3,
        "autodoc_typehints": "signature",
        "autodoc_member_order": "bysource",
        "autodoc_preserve_defaults": True,
        "napoleon_custom_sections": ["Warns", "Definition", "Source"],
        "suppress_warnings": ["misc.highlighting_failure"],
    }
)
"""Of the site's generator. Tab is no language that it could colour, so that is no warning."""


def build(site: Path) -> str:
    """Build the site into a folder; give the warnings, empty if there are none."""
    warnings = StringIO()
    with TemporaryDirectory() as work:
        source = Path(work) / "source"
        gather(source)
        with patch_docutils(), docutils_namespace():
            app = Sphinx(
                srcdir=source,
                confdir=None,
                outdir=site,
                doctreedir=Path(work) / "trees",
                buildername="html",
                confoverrides=dict(OPTIONS),
                status=None,
                warning=warnings,
            )
            app.build(force_all=True)
    for page in site.rglob("*.html"):
        page.write_text(for_everyone(page.read_text("utf-8")), encoding="utf-8")
    return warnings.getvalue()


def for_everyone(html: str) -> str:
    """Mend what the theme leaves out for those who go by keyboard or hear the page.

    Headings at the side get the level that they have; code and tables, which scroll by themselves
    in a narrow window, can be reached by the Tab key.

    Source: WAI-ARIA 1.2, `aria-level` is required of a heading; WCAG 2.2, 2.1.1 (keyboard).

    >>> for_everyone('<p class="caption" role="heading"><pre>riffract demo</pre>')
    '<p class="caption" role="heading" aria-level="3"><pre tabindex="0">riffract demo</pre>'
    """
    for given, mended in _MENDED.items():
        html = html.replace(given, mended)
    return html


def gather(source: Path) -> None:
    """Put together all pages: those that are written, and those that are made."""
    shutil.copytree(DOCS, source)
    for notebook in sorted((source / "notebooks").glob("*.ipynb")):
        page = notebook.with_suffix(".md")
        page.write_text("\n\n".join(_cells(notebook)) + "\n", encoding="utf-8")
    for page in sorted(source.rglob("*.md")):
        text = page.read_text("utf-8").replace(".ipynb)", ".md)")
        page.write_text(OUTSIDE.sub(partial(_brought, source), text), encoding="utf-8")
    (source / "_static").mkdir()
    shutil.copy(STYLE, source / "_static" / "custom.css")
    (source / "reference.md").write_text(_reference(), encoding="utf-8")
    (source / "index.md").write_text(_index(), encoding="utf-8")


def _brought(source: Path, link: Match[str]) -> str:
    """Put a file that lies outside the documents among them, and point to it."""
    name = Path(link[1]).name
    shutil.copy(ROOT / link[1], source / name)
    return f"]({name})"


def _cells(notebook: Path) -> Iterator[str]:
    """Run a notebook, and write each cell with what it shows."""
    book = nbformat.read(notebook, as_version=4)  # type: ignore[no-untyped-call]
    NotebookClient(book, resources={"metadata": {"path": notebook.parent}}).execute()
    for cell in book.cells:
        if cell.cell_type == "markdown":
            yield cell.source
        else:
            yield f"```python\n{cell.source}\n```"
            yield from map(_shown, cell.outputs)


def _shown(output: Any) -> str:
    """Write what a cell shows: a picture or a table as such, else its text."""
    data = output.get("data", {})
    if "image/svg+xml" in data:
        packed = b64encode(data["image/svg+xml"].encode()).decode("ascii")
        says = DESCRIPTION.search(data["image/svg+xml"])
        alt = says[1] if says else ""
        return _raw(f'<img src="data:image/svg+xml;base64,{packed}" alt="{alt}">')
    if "text/html" in data:
        return _raw(data["text/html"])
    text = data.get("text/plain", output.get("text", ""))
    return f"```text\n{text.rstrip()}\n```"


def _raw(text: str) -> str:
    return f"```{{raw}} html\n{text}\n```"


def _reference() -> str:
    parts = ["# From Python", "What `import riffract` gives, and what it is made of."]
    for name in MODULES:
        title = name.removeprefix("riffract.")
        directive = f".. automodule:: {name}\n   :members:\n   :show-inheritance:"
        parts.append(f"## {title}\n\n```{{eval-rst}}\n{directive}\n```")
    return "\n\n".join(parts) + "\n"


def _index() -> str:
    parts = [
        "# Riffract",
        "From a written riff to a film that explains it, and that everyone can check.",
    ]
    for title, pages in (*SECTIONS.items(), *_unnamed()):
        listed = "\n".join(pages)
        parts.append(f"```{{toctree}}\n:maxdepth: 1\n:glob:\n:caption: {title}\n\n{listed}\n```")
    return "\n\n".join(parts) + "\n"


def _unnamed() -> Iterator[tuple[str, Sequence[str]]]:
    """Give the pages that stand in no section, in a section of their own."""
    named = [pattern for pages in SECTIONS.values() for pattern in pages]
    pages = (page.relative_to(DOCS).with_suffix("").as_posix() for page in DOCS.rglob("*.md"))
    rest = sorted(p for p in pages if not any(fnmatch(p, pattern) for pattern in named))
    if rest:
        yield "More", rest


if __name__ == "__main__":
    target = Path(sys.argv[1]) if len(sys.argv) > 1 else SITE
    found = build(target)
    sys.stderr.write(found)
    print(target / "index.html")
    sys.exit(1 if found else 0)
