"""Reads a page back with the standard library's parser, strictly."""

from __future__ import annotations

from html.parser import HTMLParser
from typing import Final

# HTML Living Standard, section 13.1.2 "Elements": void elements have no end tag.
VOID: Final = frozenset(
    {"area", "base", "br", "col", "embed", "hr", "img", "input", "link", "meta", "source", "wbr"}
    | {"track"}
)
# Their ends part words.
_BLOCKS: Final = frozenset({"td", "th", "dt", "dd", "p", "li", "h1", "h2", "h3", "h4"})
_SECTION: Final = "section"


class Page(HTMLParser):
    """Elements, attributes and text of a page; ``faults`` lists what is not well formed."""

    def __init__(self, html: str) -> None:
        super().__init__(convert_charrefs=True)
        self.faults: list[str] = []
        self.tags: list[tuple[str, dict[str, str | None]]] = []
        self.words: dict[str, list[str]] = {"": []}
        self._open: list[str] = []
        self._section: list[str] = []
        self.feed(html)
        self.close()
        self.faults += [f"<{tag}> never closed" for tag in self._open]

    def handle_starttag(self, tag: str, attrs: list[tuple[str, str | None]]) -> None:
        names = [name for name, _ in attrs]
        if len(names) != len(set(names)):
            self.faults.append(f"doubled attribute in <{tag}> at {self.getpos()}")
        self.tags.append((tag, dict(attrs)))
        if tag in VOID:
            return
        self._open.append(tag)
        if tag == _SECTION:
            label = dict(attrs).get("id") or dict(attrs).get("aria-labelledby") or ""
            self._section.append(label)
            self.words.setdefault(label, [])

    def handle_startendtag(self, tag: str, attrs: list[tuple[str, str | None]]) -> None:
        self.tags.append((tag, dict(attrs)))

    def handle_endtag(self, tag: str) -> None:
        if not self._open or self._open[-1] != tag:
            self.faults.append(f"</{tag}> at {self.getpos()} closes {self._open[-1:]}")
            return
        self._open.pop()
        if tag in _BLOCKS:
            self.handle_data(" ")
        if tag == _SECTION:
            self._section.pop()

    def handle_data(self, data: str) -> None:
        if self._open[-1:] == ["style"]:
            return
        for label in {"", *self._section}:
            self.words[label].append(data)

    def text(self, section: str = "") -> str:
        """The words of the page, or of one section, with single spaces."""
        return " ".join("".join(self.words[section]).replace("\u00a0", " ").split())

    def having(self, attribute: str) -> list[str]:
        """All values of one attribute."""
        return [value or "" for _, attrs in self.tags for a, value in attrs.items()
                if a == attribute]  # fmt: skip
