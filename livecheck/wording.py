"""Words for records, shared by report, console and command line.

All texts stand in one catalogue (``shared/texts.en.toml``). Another language is another
file with the keys that are read in it (``languages.speaking``). Numbers become text here and
nowhere else: with their unit, with no more digits than they deserve.
"""

from __future__ import annotations

import math
import tomllib
import unicodedata
from collections.abc import Iterable, Mapping
from decimal import Decimal
from functools import cache
from importlib import resources
from types import MappingProxyType
from typing import Any, Final

from livecheck.languages import spoken
from livecheck.records import Complaint, Knowledge, Outcome, Presence, Side, Value

NBSP: Final = "\u00a0"
"""Between a number and its unit, and between groups of digits: it is in every console font."""

_HIDDEN: Final = frozenset({"Cc", "Cf", "Cs", "Co", "Cn", "Zl", "Zp"})
# Letters and marks that show nothing (Default_Ignorable_Code_Point of the Unicode
# Character Database, those outside category Cf), and the blank Braille pattern.
_BLANK: Final = frozenset(
    (
        *(0x034F, 0x115F, 0x1160, 0x17B4, 0x17B5, 0x2800, 0x3164, 0xFFA0),
        *(*range(0x180B, 0x1810), *range(0xFE00, 0xFE10), *range(0xE0100, 0xE01F0)),
    )
)
_MOST_MARKS: Final = 2
"""Combining marks allowed on one letter; more would paint over the lines around it."""


def clean(text: str) -> str:
    """Text of a device or a file, with everything that hides or steers made visible.

    Control and format characters (among them line ends, terminal escapes and the
    bidirectional overrides of Unicode Annex 9), lone surrogates, unassigned and
    private characters and blank letters become ``[U+202E]``. Cleaning twice
    changes nothing.
    """
    if text.isascii() and text.isprintable():
        return text
    shown: list[str] = []
    marks = 0
    for char in text:
        category = unicodedata.category(char)
        marks = marks + 1 if category in ("Mn", "Me") else 0
        hidden = category in _HIDDEN or ord(char) in _BLANK or marks > _MOST_MARKS
        shown.append(f"[U+{ord(char):04X}]" if hidden else char)
    return "".join(shown)


@cache
def catalogue(language: str = "en") -> Mapping[str, str]:
    """All texts of a language by dotted key. Raises FileNotFoundError for one without a file."""
    table = resources.files("livecheck.shared").joinpath(f"texts.{language}.toml")
    return MappingProxyType(dict(_flat(tomllib.loads(table.read_text("utf-8")))))


def _flat(table: Mapping[str, Any], prefix: str = "") -> Iterable[tuple[str, str]]:
    for name, value in table.items():
        if isinstance(value, dict):
            yield from _flat(value, f"{prefix}{name}.")
        else:
            yield f"{prefix}{name}", str(value)


def text(key: str, /, **fields: object) -> str:
    """One text of the catalogue with its fields filled in; a word of English in another language
    is better than no page. Raises KeyError."""
    own = catalogue(spoken())
    found = own[key] if key in own else catalogue()[key]
    return found.format_map(fields) if fields else found


def count(key: str, number: int, /, **fields: object) -> str:
    """A text that depends on a number: ``key.one`` or ``key.other``; the field is ``n``."""
    form = "one" if number == 1 else "other"
    return text(f"{key}.{form}", n=_grouped(number), **fields)


def title(word: Outcome | Presence | Side | Complaint) -> str:
    """A record's word as a reader would say it."""
    return text(f"{type(word).__name__.lower()}.{word.value.replace(' ', '-')}")


def kind_title(kind: str, knowledge: Knowledge) -> str:
    """A kind of component as a technician would say it, without an article."""
    known = knowledge.kinds.get(kind)
    return known.title if known else kind.replace("-", " ")


def question(check: str, knowledge: Knowledge) -> str:
    """What a check asks; its own name when the tables do not know it."""
    known = knowledge.checks.get(check)
    return known.question if known else check


def quantity(value: Value, unit: str | None = None) -> str:
    """A value with its unit: ``19.48 V``, ``1 error``, ``512 GB``, ``yes``, ``not known``."""
    if value is None:
        return text("value.unknown")
    if isinstance(value, bool):
        return text("value.yes" if value else "value.no")
    if isinstance(value, str):
        return f"{value}{NBSP}{_unit(unit, 2)}" if unit else value
    if unit in ("bytes", "B"):
        return size(value)
    number = figure(value)
    return f"{number}{NBSP}{_unit(unit, value)}" if unit else number


def figure(value: float) -> str:
    """A number in at most four significant digits; whole numbers stay whole."""
    return _digits(value).replace(".", text("number.decimal"))


def _digits(value: float) -> str:
    if isinstance(value, float) and not _finite(value):
        return text("value.no-number")
    if isinstance(value, int) or abs(value) >= 1000:
        whole = round(value)
        return _grouped(whole) if abs(whole) < 10**15 else f"{Decimal(whole):.2e}"
    if value and abs(value) < 0.001:
        return f"{value:.2g}"
    digits = 3 - max(0, math.floor(math.log10(abs(value)))) if value else 0
    number = f"{value:.{digits}f}"
    return number.rstrip("0").rstrip(".") if "." in number else number


def size(number: float, binary: bool = False) -> str:
    """Bytes in decimal units (drives, SI) or binary ones (memory, IEC 80000-13)."""
    if not _finite(number):
        return text("value.no-number")
    base = 1024 if binary else 1000
    names = ("B", "KiB", "MiB", "GiB", "TiB") if binary else ("B", "kB", "MB", "GB", "TB")
    step = 0
    # What would be rounded up to the base belongs to the next unit already.
    while abs(number) >= base - 0.5 and step < len(names) - 1:
        number /= base
        step += 1
    rounded = round(number, 1) if abs(number) < 9.95 and step else round(number)
    return f"{figure(rounded)}{NBSP}{names[step]}"


def _finite(number: float) -> bool:
    """Whole numbers of records can be larger than any float."""
    try:
        return math.isfinite(number)
    except OverflowError:
        return False


def minutes(number: float) -> str:
    """A bench time: ``5 min``, ``1 h 15 min``."""
    whole = max(1, round(number))
    hours, rest = divmod(whole, 60)
    if not hours:
        return f"{rest}{NBSP}min"
    return f"{hours}{NBSP}h {rest}{NBSP}min" if rest else f"{hours}{NBSP}h"


def moment(iso: str) -> str:
    """An ISO 8601 time without its letters; anything else as it stands."""
    day, _, clock = iso.partition("T")
    if not clock:
        return iso
    zone = f"{NBSP}UTC" if clock.endswith(("Z", "+00:00")) else ""
    return f"{day} {clock[:5]}{zone}"


def numbers(values: Iterable[int]) -> str:
    """Run numbers, neighbours joined: ``1–3, 5``."""
    spans: list[list[int]] = []
    for value in sorted(set(values)):
        if spans and value == spans[-1][1] + 1:
            spans[-1][1] = value
        else:
            spans.append([value, value])
    return ", ".join(_span(first, last) for first, last in spans)


def _span(first: int, last: int) -> str:
    if first == last:
        return str(first)
    return f"{first}, {last}" if last == first + 1 else f"{first}–{last}"


def runs(values: Iterable[int]) -> str:
    """``run 2``, ``runs 1–3``."""
    listed = sorted(set(values))
    return count("runs", len(listed), runs=numbers(listed))


def _unit(unit: str, value: float) -> str:
    texts = catalogue(spoken())
    form = "one" if value == 1 else "other"
    return texts.get(f"unit.{unit}.{form}", texts.get(f"unit.{unit}", unit))


def _grouped(number: int) -> str:
    """Digits in groups of three from five digits on (ISO 80000-1)."""
    return f"{number:,}".replace(",", NBSP) if abs(number) >= 10_000 else str(number)
