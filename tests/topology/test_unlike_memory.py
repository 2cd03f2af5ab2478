"""Modules of two speeds, by what SMBIOS type 17 tells of each (5.x, 7.18: Speed)."""

from __future__ import annotations

import pytest

from livecheck.records import Inventory, Part, Value
from livecheck.topology.unlike_memory import unlike


def _module(name: str, speed: int | str | None, kind: str = "memory-module") -> Part:
    told: dict[str, Value] = {} if speed is None else {"speed_mts": speed}
    return Part(id=f"{kind}:{name}", kind=kind, name=name, place=f"dimm:{name}", attributes=told)


@pytest.mark.parametrize("speeds", [(), (3200,), (3200, 3200), (None, 3200), ("fast", 3200)])
def test_modules_of_one_speed_or_of_none_are_alike(speeds: tuple[int | str | None, ...]) -> None:
    parts = tuple(_module(str(n), speed) for n, speed in enumerate(speeds))
    assert unlike(Inventory(parts=parts)) is None


def test_the_slowest_and_the_fastest_of_three() -> None:
    parts = (_module("a", 2667), _module("b", 3200), _module("c", 2133), _module("d", 1, "drive"))
    pair = unlike(Inventory(parts=parts))
    assert pair is not None
    assert [one.name for one in pair] == ["c", "b"]
