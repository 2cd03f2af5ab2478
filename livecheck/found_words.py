"""What probes, guided checks and the worker say in English, in the language that is spoken.

They make their sentences where they find what they say, and a record keeps these. A screen puts
others over them by their own template, ``shared/found.<language>.toml``: a field called ``n`` and
a figure is a number, any other is a name or words that are looked up in turn. What fits no template
stays as it is.
"""

from __future__ import annotations

import re
from collections.abc import Iterator, Mapping
from functools import cache
from types import MappingProxyType
from typing import Final, NamedTuple

from livecheck.languages import ENGLISH, spoken
from livecheck.worded import table_words
from livecheck.worded_forms import guide_words, sheet_words
from livecheck.wording import NBSP, catalogue, text

_FIELD: Final = re.compile(r"\{(\w+)\}")
_NUMBER: Final = re.compile(r"[-+]?\d+(?:[.,\u00a0]\d+)*")
_GROUPED: Final = re.compile(r"[-+]?\d{1,3}(?:,\d{3})+(?:\.\d+)?")
_COUNTED: Final = re.compile(r"n\d*")
_SENTENCES: Final = re.compile(r"(?<=[.!?]) (?=[A-Z0-9])")
_WORD: Final = re.compile(r"(?<![\w/.:-])[A-Za-z]?[a-z]{2,}(?![\w/-])")
_UNITS: Final = frozenset(("min", "mAh", "mWh", "dBm", "MiB", "GiB", "kHz", "MHz", "GHz"))
_FIGURE: Final = re.compile(
    r"(?<![\d.])(\d+)\.(\d+)(?=[ \u00a0]?(?:[VAWs]|Wh|[GM]Hz|[GMT]B|GiB|ms)\b)"
)
_PARTED: Final = ("; ", ", ", " and ")
_MOST: Final = 2_000
"""Characters of a sentence: probes say no longer ones."""
_DEEP: Final = 6
"""Words within words: what a device is called may hold any number of commas and colons."""


class _Template(NamedTuple):
    """An English sentence in pieces, and the same in another language."""

    pieces: tuple[str, ...]
    """What stands before, between and behind its fields."""
    fields: tuple[str, ...]
    own: str

    def match(self, said: str) -> dict[str, str] | None:
        """What a sentence holds in the fields; None: it is another one."""
        first, *behind, last = self.pieces
        if not said.startswith(first) or not said.endswith(last):
            return None
        rest, found = said[len(first) : len(said) - len(last)], dict[str, str]()
        following = (*self.fields[1:], "")
        for name, piece, after in zip(self.fields, (*behind, ""), following, strict=True):
            # A figure behind a name is the last word before what follows.
            cut = rest.rpartition if piece == " " and after[:1] == "n" else rest.partition
            held, met, rest = cut(piece) if piece else (rest, last, "")
            if not held or met != (piece or last) or not _may_be(name, held):
                return None
            # A sentence that begins with a name has none with a colon in it.
            if not first and not found and ": " in held:
                return None
            found[name] = held
        return found


def _may_be(name: str, held: str) -> bool:
    """Whether a field may hold it: a figure, or no more than one sentence."""
    if _COUNTED.fullmatch(name):
        return _NUMBER.fullmatch(held) is not None
    return _SENTENCES.search(held) is None


def found_in(language: str) -> Mapping[str, str]:
    """English templates and the same in a language."""
    from livecheck import knowledge

    return knowledge.found_in(language)


@cache
def _templates(language: str) -> tuple[Mapping[str, str], Mapping[str, list[_Template]]]:
    """Those without fields by what they say; the others by the word they begin with, what says
    most first.
    """
    plain: dict[str, str] = {}
    others: dict[str, list[_Template]] = {}
    for english, own in found_in(language).items():
        pieces = _FIELD.split(english.removesuffix("."))
        if len(pieces) == 1:
            plain[pieces[0]] = own.removesuffix(".")
        else:
            made = _Template(tuple(pieces[::2]), tuple(pieces[1::2]), own.removesuffix("."))
            others.setdefault(_begin(pieces[0]), []).append(made)
    for some in others.values():
        some.sort(key=lambda one: -sum(map(len, one.pieces)))
    return MappingProxyType({**_titles(language), **plain}), MappingProxyType(others)


@cache
def _titles(language: str) -> Mapping[str, str]:
    """Words of tables that probes say: kinds of components, questions, and probes' own titles."""
    from livecheck import knowledge
    from livecheck.probes import registry

    known, words = catalogue(language), dict(table_words(knowledge.load()))
    words |= {f"probe.{probe.name}": probe.title for probe in registry.ALL}
    words |= {key: said for key, said in catalogue().items() if key.startswith("step.")}
    words |= dict(sheet_words(knowledge.worksheet()))
    words |= {key: said for key, said in guide_words(knowledge.guided()) if key.endswith(".title")}
    titles = {said.removesuffix("."): known[key].removesuffix(".")
              for key, said in words.items() if key in known}  # fmt: skip
    # Of a step that was answered wrongly its own name is told.
    steps = (step.name for step in knowledge.worksheet().step)
    return titles | {name: known[f"measure.{name}"] for name in steps}


def _begin(words: str) -> str:
    """The first word, where it is whole."""
    first, space, _ = words.partition(" ")
    return first if space else ""


def reworded(said: str, names: Mapping[str, str] = MappingProxyType({})) -> str:
    """A sentence in the language that is spoken; as it is where none is known for it.

    ``names``: what components are called in English, and how in that language.
    """
    if spoken() == ENGLISH or not said or len(said) > _MOST:
        return said
    return _Reworder(spoken(), names).words(said)


class _Reworder:
    """Looks sentences up in a language."""

    def __init__(self, language: str, names: Mapping[str, str]) -> None:
        self._plain, self._others = _templates(language)
        self._names = names
        self._deep = 0

    def words(self, said: str) -> str:
        """All sentences, those that are not known as they are."""
        whole = self._known(said)
        if whole is not None:
            return whole
        parts = _SENTENCES.split(said)
        if len(parts) == 1:
            return figures(said)
        return " ".join(self._joined(parts))

    def _joined(self, parts: list[str]) -> Iterator[str]:
        """Sentence by sentence; two in a row may be told together."""
        while parts:
            for many in range(min(3, len(parts)), 0, -1):
                found = self._known(" ".join(parts[:many]))
                if found is not None or many == 1:
                    yield found if found is not None else figures(parts[0])
                    parts = parts[many:]
                    break

    def _known(self, said: str) -> str | None:
        """One sentence, or words within one; None: not known."""
        if said in self._names or self._deep >= _DEEP:
            return self._names.get(said)
        self._deep += 1
        try:
            return self._unnamed(said)
        finally:
            self._deep -= 1

    def _unnamed(self, said: str) -> str | None:
        full = "." if said.endswith(".") else ""
        bare = said.removesuffix(".")
        found = self._looked_up(bare)
        if found is None and bare[:1].isupper():
            found = self._looked_up(f"{bare[0].lower()}{bare[1:]}")
            found = found and f"{found[0].upper()}{found[1:]}"
        if found is None:
            found = self._of_parts(bare)
        return None if found is None else f"{found}{full}"

    def _looked_up(self, bare: str) -> str | None:
        if bare in self._plain:
            return self._plain[bare]
        for one in (*self._others.get(_begin(bare), ()), *self._others.get("", ())):
            if (held := one.match(bare)) is not None:
                said: str = one.own.format_map({k: self._field(v) for k, v in held.items()})
                return said
        return None

    def _field(self, held: str) -> str:
        if _NUMBER.fullmatch(held):
            return _number(held)
        return self.words(held)

    def _of_parts(self, bare: str) -> str | None:
        """Known words with more behind a colon or in brackets; or words in a row, all known."""
        for sign, end in ((": ", ""), (" (", ")")):
            head, met, rest = bare.partition(sign)
            known = self._known(head) if met and rest.endswith(end) else None
            if known is not None:
                return f"{known}{sign}{self._field(rest.removesuffix(end))}{end}"
        for sign in _PARTED:
            parts = [self._part(one) for one in bare.split(sign)] if sign in bare else [None]
            if None not in parts:
                said = self._plain.get(sign.strip())
                sign = f" {said} " if said else sign
                return sign.join(part for part in parts if part is not None)
        return None

    def _part(self, part: str) -> str | None:
        words = [word for word in _WORD.findall(part) if word not in _UNITS]
        return self._known(part) if words else self._field(part)


def figures(words: str) -> str:
    """Words that hold figures with units, as they are written in the language."""
    return _FIGURE.sub(rf"\1{text('number.decimal')}\2", words)


def _number(held: str) -> str:
    """A figure as it is written in the language."""
    if _GROUPED.fullmatch(held):
        held = held.replace(",", NBSP if len(held.replace(",", "")) > 4 else "")
    return held.replace(".", text("number.decimal"))
