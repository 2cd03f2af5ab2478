"""Which checks a run makes where, how often they err, and the figures they read."""

from __future__ import annotations

from typing import Final

PASSIVE: Final[dict[str, tuple[str, ...]]] = {
    "drive": (
        "storage.answers",
        "storage.health",
        "storage.medium-errors",
        "storage.link-errors",
        "storage.link-change",
        "storage.link-history",
        "storage.link-speed",
        "storage.self-test-log",
        "storage.wear",
        "storage.temperature",
        "storage.command-errors",
        "kernel.storage-medium",
        "kernel.storage-link",
        "kernel.storage-timeout",
        "kernel.storage-host-bus",
        "kernel.storage-protocol",
    ),
    "wireless-card": (
        "wireless.present",
        "wireless.driver",
        "wireless.firmware",
        "wireless.address",
        "wireless.blocked",
        "wireless.soft-block",
        "wireless.halves",
        "bluetooth.firmware",
        "bluetooth.driver",
        "kernel.wireless",
    ),
    "battery": (
        "power.battery-present",
        "power.battery-wear",
        "power.charging",
        "power.battery-report",
    ),
    "adapter": ("power.adapter", "power.adapter-rating"),
    "usb-device": ("usb.port-answers", "kernel.usb", "usb.over-current", "usb.resets"),
}
ON_SLOT: Final = ("pcie.errors", "pcie.link-speed", "pcie.link-width", "kernel.pcie")
"""Also at whatever sits in a PCI Express slot."""
PASSIVE_MACHINE: Final[dict[str, str]] = {
    "kernel.machine-check": "machine",
    "kernel.firmware": "machine",
    "kernel.graphics": "display-controller",
    "kernel.usb-host": "pci:0000:00:14.0",
    "kernel.usb-power": "machine",
    "memory.error-counts": "memory-controller",
    "firmware.acpi-checksums": "firmware",
    "firmware.smbios": "firmware",
    "firmware.settings": "firmware",
    "firmware.clock": "machine",
}
READ: Final = (
    "storage.read-errors",
    "storage.read-medium",
    "storage.read-stalls",
    "storage.read-slow",
)
RADIO: Final = (
    "wireless.starts",
    "wireless.hears",
    "wireless.signal",
    "wireless.chains",
    "wireless.bands",
)
FEEDING: Final = ("power.holds-load", "power.adapter-holds", "power.flex-losses")
MEMORY: Final = ("memory.words", "memory.early-test", "memory.machine-checks")
COUNTING: Final = ("processor.results", "processor.machine-checks")
TESTS: Final[dict[str, tuple[str, ...]]] = {
    "unstable": ("read", "memory", "processor", "heat"),
    "slow": ("read", "processor", "heat"),
    "switches-off": ("memory", "processor", "heat", "feeding"),
    "part-missing": ("radio", "read"),
    "not-charging": ("feeding",),
    "intake": ("read", "memory", "radio"),
}
"""What a quick run does beside looking; the full one does everything."""
ALL_TESTS: Final = ("read", "memory", "processor", "heat", "feeding", "radio", "soak")

USUAL_ALARM: Final = 0.004
ALARMS: Final[dict[str, float]] = {
    "storage.link-speed": 0.03,
    "storage.command-errors": 0.15,
    "storage.temperature": 0.02,
    "storage.read-slow": 0.02,
    "storage.read-stalls": 0.01,
    "storage.medium": 0.03,
    "pcie.link-speed": 0.08,
    "pcie.link-width": 0.04,
    "wireless.blocked": 0.03,
    "wireless.soft-block": 0.05,
    "wireless.hears": 0.1,
    "wireless.signal": 0.12,
    "wireless.bands": 0.2,
    "wireless.chains": 0.05,
    "bluetooth.driver": 0.02,
    "usb.resets": 0.1,
    "kernel.usb": 0.02,
    "kernel.graphics": 0.02,
    "power.charging": 0.02,
    "power.adapter-rating": 0.02,
    "power.adapter-holds": 0.03,
    "power.flex-losses": 0.02,
    "firmware.settings": 0.1,
    "firmware.smbios": 0.05,
    "firmware.clock": 0.02,
    "memory.words": 0.0005,
    "processor.results": 0.0003,
    "bench.adapter-open-voltage": 0.1,
    "bench.adapter-loaded-voltage": 0.08,
    "bench.jack-loose": 0.04,
}
"""Chance to fail on a sound machine before the world bends it. Assumed."""

STANDING: Final = frozenset(
    {"wireless.blocked", "wireless.soft-block", "wireless.bands", "wireless.firmware"}
    | {"bluetooth.firmware", "firmware.settings", "firmware.smbios", "firmware.acpi-checksums"}
    | {"storage.link-speed", "storage.wear", "storage.health", "storage.self-test-log"}
    | {"storage.link-history", "storage.medium-errors", "storage.command-errors"}
    | {"power.battery-report", "power.adapter-rating", "memory.modules-seen"}
)
"""What is a state or a count that stays: its alarm is there in every run, or in none."""
SWITCHES: Final = frozenset({"wireless.blocked", "wireless.soft-block", "firmware.settings"})
"""Alarms that putting the settings right ends."""
SATA_ONLY: Final = ("storage.link", "kernel.storage-link", "kernel.storage-host-bus")
"""How the names of checks begin that a drive in a slot of PCI Express does not have."""

COUNTED: Final = frozenset(
    {"sectors", "errors", "incidents", "words", "messages", "events", "times", "resets"}
    | {"reads", "regions", "bytes", "results", "commands", "losses", "tables", "faults"}
    | {"settings", "cells"}
)
"""Units of checks that count: good is few."""
FEW_IS_BAD: Final = frozenset({"cells"})
FIGURES: Final[dict[str, tuple[float, float, float, float]]] = {
    "storage.link-speed": (6.0, 6.0, 3.0, 1.5),
    "storage.wear": (2.0, 90.0, 100.0, 130.0),
    "storage.temperature": (28.0, 55.0, 61.0, 85.0),
    "pcie.link-speed": (8.0, 8.0, 2.5, 2.5),
    "pcie.link-width": (4.0, 4.0, 2.0, 1.0),
    "wireless.signal": (-65.0, -35.0, -76.0, -92.0),
    "wireless.chains": (0.5, 9.0, 13.0, 30.0),
    "wireless.starts": (0.5, 4.0, 12.0, 30.0),
    "power.battery-wear": (0.02, 0.38, 0.41, 0.7),
    "power.holds-load": (0.03, 0.13, 0.16, 0.6),
    "power.adapter-rating": (45.0, 65.0, 40.0, 20.0),
    "power.adapter-holds": (0.0, 0.8, 2.0, 20.0),
    "bench.adapter-output": (19.0, 19.9, 6.0, 0.0),
    "bench.adapter-holds": (18.8, 19.6, 8.0, 0.0),
    "bench.adapter-open-voltage": (18.9, 20.1, 17.0, 0.0),
    "bench.adapter-loaded-voltage": (18.7, 20.0, 17.8, 5.0),
    "bench.adapter-flex": (18.3, 19.6, 12.0, 0.0),
    "bench.jack": (0.1, 0.8, 2.0, 1e6),
    "bench.rail-resistance": (900.0, 40000.0, 60.0, 0.2),
    "bench.current-at-press": (0.2, 1.2, 0.015, 0.0),
    "bench.current-limit": (0.2, 1.2, 3.1, 3.33),
    "bench.button": (0.2, 20.0, 300.0, 1e6),
    "bench.coin-cell": (2.7, 3.2, 2.3, 0.2),
}
"""Check -> (least, most) of a good value, (nearest its limit, farthest) of a bad one."""
