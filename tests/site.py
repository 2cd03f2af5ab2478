"""The documentation site, as a folder of pages: ``python -m tests.site FOLDER``.

README is its first page, DEVELOPERS.md another; guide, check table, format of records and the
demo's reports are the program's own pages. Nothing is loaded from elsewhere.
"""

from __future__ import annotations

import base64
import re
import sys
from pathlib import Path
from typing import Final

from markdown_it import MarkdownIt

from livecheck import languages
from livecheck.knowledge import load
from livecheck.report import page_environment
from livecheck.report.guide import guide_page
from livecheck.worded import worded
from tests import pictures

TOP: Final = pictures.TOP
PROSE: Final = {"index.html": "README.md", "developers.html": "DEVELOPERS.md"}
"""Page -> the file it says."""
PAGE: Final = """\
{% include "head.html" %}
<title>{{ title }}</title>
<style>
{% include "base.css" %}
nav{padding:1rem 0}
h2{margin-top:1.6em}
td:first-child{min-width:9rem}
.prose{max-width:60rem}
pre{background:var(--wash);padding:.6rem .8rem;white-space:pre-wrap}
img{max-width:100%;height:auto}
</style>
</head>
<body>
<main class="prose">
{{ body | safe }}</main>
</body>
</html>
"""


def write(folder: Path) -> None:
    """Every page, into a folder."""
    pages = {name: _prose((TOP / source).read_text("utf-8")) for name, source in PROSE.items()}
    pages |= pictures.bench_pages()
    for language in languages.LANGUAGES[1:]:
        with languages.speaking(language):
            pages[f"guide-{language}.html"] = guide_page(worded(load()))
    nav = _nav({name: page.partition("<title>")[2].partition("<")[0]
                for name, page in pages.items()})  # fmt: skip
    for name, page in pages.items():
        whole = page.replace("<body>", f"<body>\n{nav}", 1)
        (folder / name).write_text(whole, "utf-8")
    (folder / "demo").mkdir(exist_ok=True)
    for report in _reports():
        (folder / "demo" / report.name).write_bytes(report.read_bytes())


def _reports() -> list[Path]:
    return sorted((pictures.REPORTS / "demo").glob("*.html"))


def _prose(text: str) -> str:
    """A page that says what Markdown says."""
    body = MarkdownIt("commonmark", {"xhtmlOut": False}).enable("table").render(text)
    body = re.sub(r'src="([^"]+\.png)"', _within, body)
    for page, source in PROSE.items():
        body = body.replace(f'href="{source}"', f'href="{page}"')
    template = page_environment("livecheck.report").from_string(PAGE)
    made = template.render(title=text.partition("\n")[0].removeprefix("# "), body=body)
    return made.replace("default-src 'none';", "default-src 'none'; img-src data:;", 1)


def _within(found: re.Match[str]) -> str:
    """A picture as part of the page."""
    content = base64.b64encode((TOP / found[1]).read_bytes()).decode("ascii")
    return f'src="data:image/png;base64,{content}"'


def _nav(titles: dict[str, str]) -> str:
    """The way to each page; a demo's report has none back, as it stands alone."""
    shown = titles | {f"demo/{report.name}": f"demo: {report.stem}" for report in _reports()}
    links = " ·\n".join(f'<a href="{page}">{title}</a>' for page, title in shown.items())
    return f"<nav>\n{links}\n</nav>"


if __name__ == "__main__":
    to = Path(sys.argv[1])
    to.mkdir(parents=True, exist_ok=True)
    write(to)
