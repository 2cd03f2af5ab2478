"""The machine as far as every laptop is known, for one that cannot be asked."""

from __future__ import annotations

from typing import Final

from livecheck.records import Controller, Inventory, Part, Place

WHERE: Final = {
    "machine": "machine",
    "adapter": "adapter@jack:AC",
    "jack": "jack:AC",
    "battery": "battery@bay:BAT0",
    "button": "connector:power-button",
    "memory": "memory-controller",
    "display": "display-controller",
    "panel": "panel@panel:internal",
    "coin-cell": "coin-cell@connector:coin-cell",
}
"""Where a rule's reading is taken -> component id in ``machine()``."""


def machine() -> Inventory:
    """What every laptop has, for one that cannot be asked."""
    return Inventory(
        controllers=(
            Controller(id="power-controller", kind="power-controller", name="charging circuit"),
            Controller(id="memory-controller", kind="memory-controller", name="memory controller"),
            Controller(id="display-controller", kind="display-controller", name="graphics circuit"),
        ),
        places=(
            _place("jack:AC", "power-jack", "power jack", "power-controller"),
            _place("bay:BAT0", "battery-bay", "battery connector", "power-controller"),
            _place("connector:power-button", "power-button", "power button", "power-controller"),
            _place("connector:coin-cell", "internal-connector", "coin-cell holder", None),
            _place("dimm:1", "memory-slot", "memory slot", "memory-controller"),
            _place("socket:1", "processor-socket", "processor socket", None),
            _place("cooling", "cooling-mount", "heatsink mount", None),
            _place("panel:internal", "panel-connector", "screen lead", "display-controller"),
        ),
        parts=(
            _part("adapter", "jack:AC", "adapter"),
            _part("battery", "bay:BAT0", "battery"),
            _part("coin-cell", "connector:coin-cell", "coin cell"),
            _part("memory-module", "dimm:1", "memory"),
            _part("processor", "socket:1", "processor"),
            _part("cooling", "cooling", "cooling assembly"),
            _part("panel", "panel:internal", "panel"),
        ),
        gaps=("The machine does not start: what is fitted was not read but assumed.",),
    )


def _place(own: str, kind: str, name: str, controller: str | None) -> Place:
    return Place(id=own, kind=kind, name=name, controller=controller)


def _part(kind: str, place: str, name: str) -> Part:
    return Part(id=f"{kind}@{place}", kind=kind, name=name, place=place)
