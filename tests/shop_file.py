"""shop.toml as a shop writes it by hand."""

from __future__ import annotations

from pathlib import Path

import msgspec

from livecheck.case_index.settings import FILE
from livecheck.records.shop import ShopFacts


def write_shop_file(root: Path, facts: ShopFacts, *, learns: bool = True) -> Path:
    """The file with what a shop says of itself; JSON writes strings and lists as TOML does."""
    told = {name: getattr(facts, name) for name in facts.__struct_fields__}
    prices = told.pop("prices")
    rows = {"priors": {"outcomes": learns}, "shop": told, "shop.prices": prices}
    lines: list[str] = []
    for table, row in rows.items():
        lines += [f"[{table}]"]
        lines += [f"{_toml(k)} = {_toml(v)}" for k, v in row.items() if v is not None]
    file = root / FILE
    file.write_text("\n".join(lines), encoding="utf-8")
    return file


def _toml(value: object) -> str:
    return msgspec.json.encode(value).decode()
