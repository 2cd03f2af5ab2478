"""Figures of the shop's own that no bench means, and what verdicts and pages make of them.

Source: IEEE 754 for nan, inf and the largest number; TOML 1.0 for how they are written.
"""

from __future__ import annotations

import json
import math
import re
import time
from collections.abc import Iterator
from pathlib import Path
from typing import Any, Final

import msgspec
import pytest

from livecheck import knowledge
from livecheck.casefile import Shop
from livecheck.diagnosis import Resources, locate
from livecheck.records import Knowledge
from tests.hostile import drives
from tests.hostile.drives import command
from tests.hostile.newcomer.test_engine import STORIES

TABLES: Final = knowledge.load()
ODD: Final = ("nan", "inf", "-inf", "-1", "0", "1e308", '"many"', "[]", "true", "1e-320")
STORY: Final = STORIES["memory"]()


@pytest.fixture
def shop(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> Shop:
    monkeypatch.setenv("XDG_CACHE_HOME", str(tmp_path / "cache"))
    return drives.drive(tmp_path / "drive")


def _figures(tree: Any, way: tuple[str, ...] = ()) -> Iterator[tuple[str, ...]]:
    """Where the figures of a table stand."""
    for key, value in tree.items() if isinstance(tree, dict) else ():
        if isinstance(value, int | float) and not isinstance(value, bool):
            yield (*way, key)
        else:
            yield from _figures(value, (*way, key))


def _toml(way: tuple[str, ...], value: str) -> str:
    *head, last = (json.dumps(step) for step in way)
    return f"[{'.'.join(head)}]\n{last} = {value}\n" if head else f"{last} = {value}\n"


def _judge(tables: Knowledge) -> None:
    found = locate("x", STORY.runs, tables, Resources())
    text = msgspec.json.encode(found).decode()
    assert "null" not in re.sub(r'"\w+":null', "", text)
    for chance in (found.probability, *(one.probability for one in found.candidates)):
        assert 0.0 <= chance <= 1.0
    for step in (found.next_step, *found.alternatives):
        assert step is None or math.isfinite(step.minutes)


def _all() -> dict[str, Any]:
    return {
        "model.toml": msgspec.to_builtins(TABLES.model),
        "bench.toml": msgspec.to_builtins(TABLES.bench),
        "components.toml": {k: msgspec.to_builtins(v) for k, v in TABLES.kinds.items()},
    }


@pytest.mark.slow
@pytest.mark.parametrize("name", ["model.toml", "bench.toml", "components.toml"])
def test_each_figure_in_turn(name: str, tmp_path: Path) -> None:
    """B01: refused with its place, or used; a verdict stays one."""
    file = tmp_path / name
    ways = list(_figures(_all()[name]))
    used = 0
    for turn, way in enumerate(ways[:: 1 if name != "components.toml" else 7]):
        for value in ODD:
            file.write_text(_toml(way, value))
            try:
                tables = knowledge.with_shop_file(TABLES, file)
            except knowledge.BrokenTable as error:
                assert name in str(error)
                continue
            used += 1
            if turn % 2 == 0 or name == "model.toml":
                _judge(tables)
    assert used


@pytest.mark.slow
@pytest.mark.parametrize("end", [0, 1])
def test_each_parameter_at_its_end(end: int, tmp_path: Path) -> None:
    """B02: the smallest and the largest that is taken, of those tried."""
    file = tmp_path / "model.toml"
    tried = (
        ("0.0", "1e-300", "1e-9", "0.000001")
        if end == 0
        else ("1e6", "1000.0", "1.0", "0.999999999")
    )
    for way in _figures(_all()["model.toml"]):
        for value in tried:
            file.write_text(_toml(way, value))
            try:
                tables = knowledge.with_shop_file(TABLES, file)
            except knowledge.BrokenTable:
                continue
            _judge(tables)
            break


PRICES: Final = ("0", "-1", "nan", "inf", "1e308", '"60"', "60.005", "999999.99", "1e-9")


@pytest.mark.parametrize("price", PRICES)
def test_prices(price: str, shop: Shop) -> None:
    """B03: on the report, the customer's page and the parts sheet."""
    currency = json.dumps("Q" * 10_000)
    (shop.root / "shop.toml").write_text(
        f"[shop]\nname = 'x'\ncurrency = {currency}\nhour = {price}\nworth = {price}\n"
        f"[shop.prices]\nbattery = {price}\ndrive = {price}\nmainboard = {price}\n"
    )
    case = drives.first(shop)
    for words in (
        ["report", str(case.path)],
        ["parts", str(case.path)],
        ["parts", str(case.path), "--json"],
        ["locate", str(case.path), "--json"],
    ):
        status, out, err = command(*words)
        assert status == 0, err
        assert not re.search(r"\b(nan|inf|NaN|Infinity)\b", out)
    page = re.sub(r"<style.*?</style>", "", case.report_file.read_text("utf-8"), flags=re.DOTALL)
    assert not re.search(r"\b(nan|inf|NaN|Infinity|e\+\d\d)\b", page)


def test_tables_that_are_none(shop: Shop) -> None:
    """B04: other capitals are another file; a folder and a closed file are named."""
    case = str(drives.first(shop).path)
    (shop.root / "components.toml").unlink()
    before = json.loads(command("locate", case, "--json")[1])
    (shop.root / "MODEL.TOML").write_text("[no_fault]\nvalue = 0.9\n")
    after = json.loads(command("locate", case, "--json")[1])
    assert after["probability"] == before["probability"]
    (shop.root / "model.toml").mkdir()
    status, out, err = command("locate", case, "--json")
    assert status == 0
    assert json.loads(out)["probability"] == before["probability"]
    assert "model.toml" in err + out


RINGS: Final = {
    "to itself": '[drive]\nunit = "drive"\n[sata-port]\nunit = "sata-port"\n',
    "a ring": '[drive]\nunit = "battery"\n[battery]\nunit = "drive"\n',
    "a part of the board": '[drive]\nunit = "mainboard"\n[mainboard]\nunit = "drive"\n',
    "no such fault": "[drive]\nmodes = { never = 1.0 }\n",
    "software is a part": '[software]\nrole = "part"\nunit = "battery"\n',
    "a part is software": '[drive]\nrole = "software"\n[mainboard]\nrole = "part"\n',
    "no role": '[drive]\nrole = ""\n',
    "behind everything": '[drive]\nbehind = ["mainboard out", "mainboard out", "bottom cover"]\n',
}


@pytest.mark.parametrize("ring", RINGS)
def test_units_in_a_ring(ring: str, shop: Shop) -> None:
    """B05: named or used."""
    (shop.root / "components.toml").write_text(RINGS[ring])
    case = str(drives.first(shop).path)
    begun = time.process_time()
    for words in (["locate", case, "--json"], ["report", case], ["parts", case], ["tree", case]):
        status, _, err = command(*words)
        assert status == 0, err
    assert time.process_time() - begun < 10
