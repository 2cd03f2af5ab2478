"""What the kernel's power supply class tells of a battery or an adapter.

Values are those of Documentation/power/power_supply_class.rst: µV, µA, µAh, µWh.
Charge and energy are never mixed: a battery is judged in the one kind of unit in which
it gives both ends.
"""

from __future__ import annotations

import re
from typing import Final

import msgspec

from livecheck import host as hosts
from livecheck.host import Host

CELL_NOMINAL_VOLTS: Final = 3.7
"""Of a lithium-ion cell (cell datasheets give 3.6 to 3.7 V)."""


CAPACITY_SHARES: Final = (0.002, 2.0)
"""Of the design that a battery can hold (assumed); firmware that mixes mWh and mAh, or thousands,
gives others."""

MOST_OVER: Final = 2.0
"""Of what it can hold that is in a battery (assumed): one of the two is in another unit."""

PACK_VOLTS: Final = (0.5, 60.0)
"""Of a battery that tells anything at all (assumed: one cell deep down, and far beyond six full
ones); below and above its gauge does not measure."""


def cells(design_volts: float) -> int:
    """Lithium-ion cells in series that a designed voltage stands for."""
    return max(1, round(design_volts / CELL_NOMINAL_VOLTS))


class BatteryState(msgspec.Struct, frozen=True, kw_only=True):
    """One battery as the kernel tells it; None: not told."""

    present: bool | None = None
    status: str | None = None
    health: str | None = None
    technology: str | None = None
    cycles: int | None = None
    percent: int | None = None
    """The battery's or firmware's own figure."""
    unit: str | None = None
    """``Wh`` or ``Ah``: the unit of the next three."""
    now: float | None = None
    full: float | None = None
    design: float | None = None
    volts: float | None = None
    design_volts: float | None = None
    amperes: float | None = None
    watts: float | None = None
    end_threshold_percent: int | None = None
    behaviour: str | None = None
    celsius: float | None = None

    @property
    def wear(self) -> float | None:
        """Share of the designed capacity that is lost: 1 − full / design.

        Below 0 for a battery that holds more than it was designed to. None where it is not told,
        and where it cannot be.
        """
        if not self.full or not self.design or self._overfull:
            return None
        share = self.full / self.design
        return 1 - share if CAPACITY_SHARES[0] <= share <= CAPACITY_SHARES[1] else None

    @property
    def odd_capacity(self) -> str | None:
        """A capacity it tells that cannot be; None: there is none such."""
        if not self.full or not self.design or self.wear is not None:
            return None
        inside = f", and has {self.now:g} in it" if self._overfull else ""
        return f"it tells that it holds {self.full:g} of {self.design:g} {self.unit}{inside}"

    @property
    def _overfull(self) -> bool:
        held, inside = self.full, self.now
        return held is not None and inside is not None and inside > MOST_OVER * held

    @property
    def odd_volts(self) -> str | None:
        """A voltage it tells that no laptop's battery has; None: there is none such."""
        low, high = PACK_VOLTS
        told = (v for v in (self.volts, self.design_volts) if v is not None)
        odd = next((v for v in told if not low <= v <= high), None)
        return f"it tells a voltage of {odd:g} V" if odd is not None else None

    @property
    def charge(self) -> float | None:
        """Share of the full capacity that is in the battery now."""
        if self.now is None or not self.full or self.odd_capacity is not None:
            return None
        return self.now / self.full


class SupplyState(msgspec.Struct, frozen=True, kw_only=True):
    """One source of external power."""

    kind: str
    """``Mains``, ``USB`` or ``Wireless``."""
    online: int | None = None
    volts: float | None = None
    max_volts: float | None = None
    amperes: float | None = None
    max_amperes: float | None = None
    usb_type: str | None = None
    """The active one of those the jack can do."""


def read_battery(host: Host, folder: str) -> BatteryState:
    """The battery of a power supply's sysfs folder."""
    unit, now, full, design = _capacities(host, folder)
    present = hosts.number(host, f"{folder}/present")
    tenths = hosts.number(host, f"{folder}/temp")
    return BatteryState(
        present=None if present is None else bool(present),
        status=hosts.text(host, f"{folder}/status"),
        health=hosts.text(host, f"{folder}/health"),
        technology=hosts.text(host, f"{folder}/technology"),
        cycles=_positive(hosts.number(host, f"{folder}/cycle_count")),
        percent=hosts.number(host, f"{folder}/capacity"),
        unit=unit,
        now=now,
        full=full,
        design=design,
        volts=_micro(host, f"{folder}/voltage_now"),
        design_volts=_micro(host, f"{folder}/voltage_min_design"),
        amperes=_micro(host, f"{folder}/current_now"),
        watts=_micro(host, f"{folder}/power_now"),
        end_threshold_percent=hosts.number(host, f"{folder}/charge_control_end_threshold"),
        behaviour=_chosen(hosts.text(host, f"{folder}/charge_behaviour")),
        celsius=tenths / 10 if tenths is not None else None,
    )


def read_supply(host: Host, folder: str) -> SupplyState:
    """The adapter or jack of a power supply's sysfs folder."""
    return SupplyState(
        kind=hosts.text(host, f"{folder}/type") or "Unknown",
        online=hosts.number(host, f"{folder}/online"),
        volts=_micro(host, f"{folder}/voltage_now"),
        max_volts=_micro(host, f"{folder}/voltage_max"),
        amperes=_micro(host, f"{folder}/current_now"),
        max_amperes=_micro(host, f"{folder}/current_max"),
        usb_type=_chosen(hosts.text(host, f"{folder}/usb_type")),
    )


def _positive(value: int | None) -> int | None:
    return value if value and value > 0 else None


def _micro(host: Host, path: str) -> float | None:
    value = hosts.number(host, path)
    return value / 1e6 if value is not None else None


def _chosen(value: str | None) -> str | None:
    """The bracketed one of several words; the word itself when it stands alone."""
    found = re.search(r"\[([^\]]+)\]", value or "")
    return found[1] if found else value


CAPACITIES: Final = ("now", "full", "full_design")


def _capacities(
    host: Host, folder: str
) -> tuple[str | None, float | None, float | None, float | None]:
    """Unit, now, full and design, from one family of attributes only."""
    families = []
    for unit, family in (("Wh", "energy"), ("Ah", "charge")):
        now, *ends = [_micro(host, f"{folder}/{family}_{k}") for k in CAPACITIES]
        # Zero is what firmware gives for a capacity it does not know.
        full, design = (end if end is not None and end > 0 else None for end in ends)
        told = (full is not None) + (design is not None)
        families.append((told, unit, now, full, design))
    told, unit, now, full, design = max(families, key=lambda f: f[0])
    return (unit, now, full, design) if told else (None, None, None, None)
