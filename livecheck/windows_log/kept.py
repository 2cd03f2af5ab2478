"""What is kept of an event: who told it, when, and the figures that its row names."""

from __future__ import annotations

import re
from collections.abc import Iterator, Mapping, Sequence
from datetime import UTC, datetime
from typing import Any, Final

import msgspec

from livecheck.records.windows_events import WindowsEvent

MOST_RAW: Final = 1 << 15
"""Bytes of an error record that are looked at; those seen have some thousand."""
_HEAD: Final = 512
"""Letters of an event in which its provider stands; a name of more is none of ours."""
_FIGURE: Final = re.compile(r"0x[0-9a-fA-F]{1,16}|[0-9]{1,20}")


class Kept(msgspec.Struct, frozen=True):
    """One event, without anything that could be a name."""

    seconds: float
    row: str
    """Name of its row."""
    id: int
    figures: dict[str, int] = {}
    raw: bytes = b""


class Sieve:
    """Lets through what a row names, of events as JSON."""

    def __init__(self, rows: Mapping[str, WindowsEvent]) -> None:
        self._rows = {
            (provider.casefold(), number): row
            for row in rows.values()
            for provider in row.providers
            for number in row.ids
        }
        names = "|".join(sorted({re.escape(name) for name, _ in self._rows}))
        self._named = re.compile(rf'"Name":"(?:{names})"', re.IGNORECASE)
        self._numbers = {row.name: re.compile(row.number) for row in rows.values() if row.number}

    def kept(self, event: str) -> Kept | None:
        """What is kept of it; None: nothing."""
        if self._named.search(event, 0, _HEAD) is None:
            return None
        try:
            return self._kept(msgspec.json.decode(event))
        except (
            ArithmeticError,
            AttributeError,
            LookupError,
            RecursionError,
            TypeError,
            ValueError,
        ):
            return None

    def _kept(self, event: Any) -> Kept | None:
        system = event["Event"]["System"]
        provider, number = system["Provider"]["#attributes"]["Name"], system["EventID"]
        number = number["#text"] if isinstance(number, dict) else number
        row = self._rows.get((provider.casefold(), int(number)))
        if row is None:
            return None
        when = datetime.fromisoformat(system["TimeCreated"]["#attributes"]["SystemTime"])
        data = event["Event"].get("EventData") or {}
        figures = {name: _figure(data.get(name)) for name in row.fields}
        figures |= self._out_of_strings(row, data)
        if row.unless_zero and figures.get(row.unless_zero) == 0:
            return None
        return Kept(
            when.replace(tzinfo=UTC).timestamp(),
            row.name,
            int(number),
            {name: figure for name, figure in figures.items() if figure is not None},
            bytes.fromhex(str(data.get("RawData"))[: 2 * MOST_RAW]) if row.raw else b"",
        )

    def _out_of_strings(self, row: WindowsEvent, data: Any) -> dict[str, int | None]:
        pattern = self._numbers.get(row.name)
        for text in _strings(data) if pattern is not None else ():
            found = pattern.search(text) if pattern is not None else None
            if found is not None:
                return {name: _figure(value) for name, value in found.groupdict().items()}
        return {}


def _figure(value: object) -> int | None:
    if isinstance(value, str) and _FIGURE.fullmatch(value):
        value = int(value, 0 if value.startswith("0x") else 10)
    return int(value) if isinstance(value, int) and 0 <= value < 1 << 64 else None


def _strings(value: object) -> Iterator[str]:
    """Of named fields and of the bare strings that older drivers give."""
    if isinstance(value, str):
        yield value
    elif isinstance(value, dict):
        yield from _strings(list(value.values()))
    elif isinstance(value, Sequence):
        for one in value:
            yield from _strings(one)
