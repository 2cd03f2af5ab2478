"""What of a report is for the customer, read back, and a pseudo-language to try it with.

Everything that stands before the technician's part is the customer's: it is what page one of
a printed report shows.
"""

from __future__ import annotations

import re
from collections.abc import Iterable, Mapping
from html.parser import HTMLParser
from string import Formatter
from types import MappingProxyType
from typing import Final

from livecheck import wording
from livecheck.records import Run
from livecheck.records.shop import ShopFacts

PSEUDO: Final = "en-XA"
"""The private region that pseudo-locales of English go by (CLDR, from memory)."""
OPEN, SHUT = "⟦", "⟧"
_ACCENTS: Final = str.maketrans("aeiounAEIOUN", "áéíóúñÁÉÍÓÚÑ")
_PLAIN: Final = ("page.language", "number.")
"""Keys that hold no words."""
_EVERYWHERE: Final = frozenset({"h", "min", "SATA", "PCIe", "USB", "SD"})
"""Units and standards: written so in every language."""
_SPOKEN: Final = ("title", "aria-label", "alt", "placeholder", "summary")
"""Attributes that are read to somebody."""


class _Words(HTMLParser):
    """Text, and what attributes have read to people; the language each stretch is said to be in."""

    def __init__(self, html: str) -> None:
        super().__init__(convert_charrefs=True)
        self.words: list[str] = []
        self.languages: set[str] = set()
        self.feed(html)
        self.close()

    def handle_starttag(self, tag: str, attrs: list[tuple[str, str | None]]) -> None:
        told = dict(attrs)
        self.words += [told[name] or "" for name in _SPOKEN if name in told]
        self.languages |= {told["lang"] or ""} if "lang" in told else set()

    def handle_data(self, data: str) -> None:
        self.words.append(data)


def part(html: str) -> str:
    """The customer's part of a report, as markup. Raises ValueError where there is none."""
    body = html.partition("<header")[2]
    before, mark, _ = body.partition('<div class="front">')
    if not mark:
        raise ValueError("the technician's part does not begin where it did")
    return f"<header{before}"


def words(html: str) -> str:
    """All that is read in a piece of markup, with single spaces."""
    return " ".join(" ".join(_Words(html).words).replace("\u00a0", " ").split())


def languages(html: str) -> set[str]:
    """The values of ``lang`` in a piece of markup."""
    return _Words(html).languages


def pseudo(texts: Mapping[str, str]) -> Mapping[str, str]:
    """The same keys with texts half as long again, accented and bracketed around their fields."""
    return MappingProxyType(
        {key: said if key.startswith(_PLAIN) else _stretched(said) for key, said in texts.items()}
        | {"page.language": PSEUDO}
    )


def _stretched(said: str) -> str:
    """Fields and their names stay; letters get accents; what is long gets longer."""
    made = ""
    for literal, field, _, _ in Formatter().parse(said):
        made += f"{OPEN}{literal.translate(_ACCENTS)}{SHUT}"
        made += "" if field is None else f"{{{field}}}"
    return f"{made}{OPEN}{' ẽẽẽẽẽ' * (len(said) // 12)}{SHUT}"


def stray(html: str, names: Iterable[str]) -> list[str]:
    """Words outside the brackets that are nobody's name: they came past the catalogue."""
    return outside(wording.clean(words(part(html))), names)


def outside(told: str, names: Iterable[str]) -> list[str]:
    """The same of plain text."""
    known = {word for name in names for word in _split(name)}
    depth, left = 0, ""
    for char in told:
        depth += (char == OPEN) - (char == SHUT)
        left += char if not depth and char not in (OPEN, SHUT) else " "
    found = (word for word in _split(left) if any(map(str.isalpha, word)))
    return [word for word in found if word not in known | _EVERYWHERE]


def _split(told: str) -> list[str]:
    return re.findall(r"[^\s()…,;:.“”\"'/]+", wording.clean(told))


def makers_names(runs: Iterable[Run], shop: ShopFacts, *own: str) -> list[str]:
    """What makers, the shop and the case's own facts are called, and no word of the program's.

    Of a place only what holds a figure is a name; of a part or a controller what is not written
    like a common word, since the program calls what tells no model by its kind.
    """
    found = [*own, shop.name, shop.address, shop.currency]
    for run in runs:
        seen = run.inventory
        machine = (seen.machine.vendor, seen.machine.product, seen.machine.version)
        found += [name for name in machine if name]
        makers = [part.name for part in seen.parts] + [one.name for one in seen.controllers]
        found += [word for name in makers for word in _split(name)
                  if not word.islower() or _figure(word)]  # fmt: skip
        found += [word for place in seen.places for word in _split(place.name) if _figure(word)]
    return found


def _figure(word: str) -> bool:
    return any(map(str.isdigit, word))
