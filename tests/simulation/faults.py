"""Fault types: where each sits, what it shows, and what the customer says of it.

All figures are invented for the population and deliberately not taken from
shared/: no public split of laptop repairs is known to us.
"""

from __future__ import annotations

from typing import Final, NamedTuple


class FaultType(NamedTuple):
    """One way to be broken."""

    name: str
    share: float
    """Weight in the population."""
    role: str
    """``part``, ``place``, ``contact``, ``controller``, ``board`` or ``software``."""
    kind: str
    """Kind of the part or controller it sits in, or whose place it is; ``*``: any card or drive."""
    shows: dict[str, float]
    """Check -> chance to fail in a run in which the fault acts."""
    complaints: dict[str, float]
    silent: float = 0.0
    """Chance, in a run in which it acts, that the part does not answer at all."""
    steady: float = 0.7
    """Share of such faults that act in every run; the others act in 15-85 % of runs."""
    cleans: bool = False
    """True: cleaning cures it."""


_DRIVE: Final[dict[str, float]] = {"part-missing": 3, "slow": 3, "unstable": 2, "intake": 1}
_LINK: Final[dict[str, float]] = {"part-missing": 4, "slow": 2, "unstable": 2}
_MISSING: Final[dict[str, float]] = {"part-missing": 8, "intake": 1}
_MEMORY: Final[dict[str, float]] = {"unstable": 6, "no-picture": 3, "slow": 0.3}
_POWER: Final[dict[str, float]] = {"no-power": 4, "not-charging": 5, "switches-off": 1.5}
_HEAT: Final[dict[str, float]] = {"switches-off": 6, "slow": 3, "unstable": 1}

_LINK_SIGNS: Final = {
    "storage.link-errors": 0.6,
    "storage.link-change": 0.5,
    "kernel.storage-link": 0.6,
    "kernel.storage-timeout": 0.35,
    "storage.read-stalls": 0.35,
    "storage.link-speed": 0.25,
    "kernel.storage-protocol": 0.2,
    "pcie.errors": 0.55,
    "kernel.pcie": 0.5,
    "pcie.link-width": 0.3,
    "pcie.link-speed": 0.25,
    "kernel.wireless": 0.3,
    "wireless.driver": 0.1,
}
_MEMORY_SIGNS: Final = {
    "memory.words": 0.75,
    "memory.module-words": 0.93,
    "memory.error-counts": 0.1,
    "memory.machine-checks": 0.2,
    "memory.early-test": 0.3,
    "kernel.machine-check": 0.25,
    "bench.own-screen": 0.95,
    "bench.external-screen": 0.95,
    "bench.code-memory": 0.6,
    "bench.life": 0.02,
}

TYPES: Final = (
    FaultType(
        "worn medium",
        11,
        "part",
        "drive",
        {
            "storage.medium-errors": 0.65,
            "storage.health": 0.35,
            "storage.self-test-log": 0.3,
            "kernel.storage-medium": 0.45,
            "storage.read-errors": 0.65,
            "storage.read-slow": 0.4,
            "storage.read-stalls": 0.4,
            "storage.medium": 0.5,
            "kernel.storage-timeout": 0.2,
            "storage.command-errors": 0.3,
        },
        _DRIVE,
        steady=0.85,
    ),
    FaultType("dead drive", 5, "part", "drive", {}, _MISSING, silent=0.95, steady=0.8),
    FaultType("drive's own link", 3, "part", "drive", _LINK_SIGNS, _LINK, silent=0.15, steady=0.5),
    FaultType(
        "slow drive",
        2.5,
        "part",
        "drive",
        {
            "storage.read-slow": 0.8,
            "storage.read-stalls": 0.6,
            "kernel.storage-timeout": 0.4,
            "storage.wear": 0.25,
            "storage.health": 0.15,
        },
        {"slow": 1},
    ),
    FaultType("bad module", 9, "part", "memory-module", _MEMORY_SIGNS, _MEMORY, steady=0.75),
    FaultType(
        "dead wireless card", 3.5, "part", "wireless-card", {}, _MISSING, silent=0.95, steady=0.7
    ),
    FaultType(
        "failing wireless card",
        2,
        "part",
        "wireless-card",
        {
            "wireless.driver": 0.5,
            "kernel.wireless": 0.6,
            "pcie.errors": 0.2,
            "kernel.pcie": 0.2,
            "wireless.address": 0.1,
            "wireless.firmware": 0.2,
        },
        _MISSING,
        silent=0.2,
        steady=0.5,
    ),
    FaultType(
        "worn battery",
        9,
        "part",
        "battery",
        {
            "power.battery-wear": 0.85,
            "power.charging": 0.25,
            "power.battery-report": 0.3,
            "power.battery-present": 0.1,
            "bench.battery-out": 0.7,
            "bench.life": 0.2,
        },
        {"not-charging": 5, "switches-off": 4, "no-power": 0.4},
        steady=0.95,
    ),
    FaultType(
        "dead adapter",
        6,
        "part",
        "adapter",
        {
            "power.adapter": 0.95,
            "power.charging": 0.8,
            "bench.adapter-output": 0.97,
            "bench.adapter-holds": 0.98,
            "bench.adapter-open-voltage": 0.98,
            "bench.adapter-loaded-voltage": 0.99,
            "bench.adapter-flex": 0.9,
            "bench.life": 0.97,
            "bench.current-at-press": 0.0,
        },
        _POWER,
        steady=0.9,
    ),
    FaultType(
        "adapter lead",
        4,
        "part",
        "adapter",
        {
            "power.adapter": 0.6,
            "power.charging": 0.5,
            "bench.adapter-output": 0.2,
            "bench.adapter-holds": 0.4,
            "bench.adapter-open-voltage": 0.3,
            "bench.adapter-loaded-voltage": 0.55,
            "bench.adapter-flex": 0.9,
            "bench.life": 0.85,
        },
        _POWER,
        steady=0.4,
    ),
    FaultType(
        "dust and dry paste",
        8,
        "part",
        "cooling",
        {
            "heat.temperature": 0.6,
            "heat.throttled": 0.6,
            "kernel.thermal": 0.5,
            "heat.trip": 0.4,
            "storage.temperature": 0.1,
            "processor.throttling": 0.75,
        },
        _HEAT,
        steady=0.85,
        cleans=True,
    ),
    FaultType(
        "dead fan",
        3,
        "part",
        "cooling",
        {
            "heat.fan": 0.75,
            "heat.temperature": 0.7,
            "heat.throttled": 0.7,
            "kernel.thermal": 0.6,
            "heat.trip": 0.5,
            "processor.throttling": 0.8,
        },
        _HEAT,
        steady=0.7,
    ),
    FaultType(
        "bad processor",
        0.25,
        "part",
        "processor",
        {
            "processor.machine-checks": 0.5,
            "kernel.machine-check": 0.5,
            "processor.results": 0.5,
            "memory.words": 0.1,
            "memory.machine-checks": 0.3,
            "bench.own-screen": 0.9,
            "bench.external-screen": 0.9,
            "bench.code-board": 0.4,
            "bench.current-limit": 0.15,
        },
        {"unstable": 2, "no-picture": 1},
    ),
    FaultType(
        "dark panel",
        4.5,
        "part",
        "panel",
        {"bench.own-screen": 0.97, "bench.backlight": 0.5},
        {"no-picture": 1},
        steady=0.8,
    ),
    FaultType(
        "screen lead",
        1.8,
        "place",
        "panel",
        {"bench.own-screen": 0.92, "bench.backlight": 0.35},
        {"no-picture": 1},
        steady=0.5,
    ),
    FaultType("cracked drive port", 2.5, "place", "drive", _LINK_SIGNS, _LINK, 0.3, 0.5),
    FaultType("card slot", 1.3, "place", "wireless-card", _LINK_SIGNS, _MISSING, 0.4, 0.5),
    FaultType("memory slot", 1.6, "place", "memory-module", _MEMORY_SIGNS, _MEMORY, 0.1, 0.5),
    FaultType(
        "worn jack",
        5,
        "place",
        "adapter",
        {
            "power.adapter": 0.75,
            "power.charging": 0.6,
            "bench.jack": 0.75,
            "bench.jack-loose": 0.65,
            "bench.life": 0.85,
        },
        _POWER,
        steady=0.5,
    ),
    FaultType("drive contact", 3, "contact", "drive", _LINK_SIGNS, _LINK, 0.45, 0.4),
    FaultType("card contact", 2, "contact", "wireless-card", _LINK_SIGNS, _MISSING, 0.5, 0.4),
    FaultType("module contact", 3, "contact", "memory-module", _MEMORY_SIGNS, _MEMORY, 0.25, 0.5),
    FaultType(
        "drive controller",
        1.3,
        "controller",
        "sata-controller",
        _LINK_SIGNS | {"kernel.storage-host-bus": 0.5},
        _LINK,
        0.4,
        0.6,
    ),
    FaultType("root port", 0.6, "controller", "pcie-root-port", _LINK_SIGNS, _MISSING, 0.4, 0.6),
    FaultType(
        "memory controller",
        0.8,
        "controller",
        "memory-controller",
        _MEMORY_SIGNS | {"memory.same-bits": 0.5},
        _MEMORY,
    ),
    FaultType(
        "charging circuit",
        3.5,
        "controller",
        "power-controller",
        {
            "power.charging": 0.85,
            "power.adapter": 0.3,
            "bench.life": 0.85,
            "bench.rail-resistance": 0.4,
            "bench.current-at-press": 0.6,
            "bench.current-limit": 0.35,
        },
        _POWER,
        steady=0.8,
    ),
    FaultType(
        "graphics circuit",
        2.2,
        "controller",
        "display-controller",
        {
            "kernel.graphics": 0.6,
            "bench.own-screen": 0.95,
            "bench.external-screen": 0.95,
            "bench.code-board": 0.4,
        },
        {"no-picture": 3, "unstable": 1},
        steady=0.7,
    ),
    FaultType(
        "dead board",
        3.5,
        "board",
        "*",
        {
            "bench.life": 0.8,
            "bench.own-screen": 0.97,
            "bench.external-screen": 0.95,
            "bench.rail-resistance": 0.4,
            "bench.current-at-press": 0.5,
            "bench.current-limit": 0.35,
            "bench.code-board": 0.2,
        },
        {"no-power": 5, "no-picture": 2},
        steady=0.9,
    ),
    FaultType(
        "board under heat",
        1.5,
        "board",
        "*",
        {
            "kernel.machine-check": 0.4,
            "processor.machine-checks": 0.3,
            "heat.trip": 0.2,
            "memory.words": 0.15,
            "processor.results": 0.2,
            "kernel.usb-host": 0.2,
        },
        {"unstable": 3, "switches-off": 2},
        steady=0.3,
    ),
    FaultType(
        "installed system", 12, "software", "*", {}, {"slow": 5, "unstable": 4, "part-missing": 2}
    ),
)

NOTHING: Final = FaultType(
    "nothing", 7, "none", "*", {}, {"intake": 5, "slow": 1, "unstable": 1, "switches-off": 0.7}
)

REFLASH_CURED: Final = 0.0
"""The population has no firmware faults: writing it again never helps."""
