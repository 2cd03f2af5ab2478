"""What a USB-C adapter offers and what the machine asks for, by USB Power Delivery.

Documentation/ABI/testing/sysfs-class-usb_power_delivery and sysfs-class-typec: capabilities
of the partner (the adapter) as a source, of the port as a sink; values such as ``20000mV``.
"""

from __future__ import annotations

import re
from typing import Final

import msgspec

from livecheck import host as hosts
from livecheck.host import Host

TYPEC: Final = "/sys/class/typec"
_PORT: Final = re.compile(r"port\d+")


class PowerOffer(msgspec.Struct, frozen=True, kw_only=True):
    """One capability: fixed voltage, a range, or a power."""

    kind: str
    """``fixed``, ``variable``, ``battery`` or ``programmable``."""
    volts: float
    """The highest."""
    watts: float | None


class Delivery(msgspec.Struct, frozen=True, kw_only=True):
    """One port with something in it."""

    port: str
    mode: str | None
    """Power operation mode: ``default``, ``1.5A``, ``3.0A``, ``usb_power_delivery``."""
    offers: tuple[PowerOffer, ...]
    """What the adapter can give."""
    asks: tuple[PowerOffer, ...]
    """What the machine can take."""

    @property
    def rating(self) -> float | None:
        """W the adapter gives at most."""
        return max((o.watts for o in self.offers if o.watts is not None), default=None)

    @property
    def wanted(self) -> float | None:
        """W the machine asks for at most."""
        return max((o.watts for o in self.asks if o.watts is not None), default=None)


def deliveries(host: Host) -> tuple[Delivery, ...]:
    """Every USB-C port with a partner that tells its capabilities. Raises Unreadable."""
    found = []
    for name in host.names(TYPEC):
        if not _PORT.fullmatch(name):
            continue
        partner = host.target(f"{TYPEC}/{name}-partner/usb_power_delivery")
        own = host.target(f"{TYPEC}/{name}/usb_power_delivery")
        offers = _capabilities(host, partner, "source-capabilities")
        if offers:
            found.append(
                Delivery(
                    port=name,
                    mode=hosts.text(host, f"{TYPEC}/{name}/power_operation_mode"),
                    offers=offers,
                    asks=_capabilities(host, own, "sink-capabilities"),
                )
            )
    return tuple(found)


def _capabilities(host: Host, folder: str | None, side: str) -> tuple[PowerOffer, ...]:
    if folder is None:
        return ()
    found = []
    for name in host.names(f"{folder}/{side}"):
        kind = name.partition(":")[2].removesuffix("_supply")
        path = f"{folder}/{side}/{name}"
        volts = _milli(host, f"{path}/voltage") or _milli(host, f"{path}/maximum_voltage")
        amperes = _milli(host, f"{path}/maximum_current")
        if amperes is None:
            amperes = _milli(host, f"{path}/operational_current")
        watts = _milli(host, f"{path}/maximum_power")
        if watts is None:
            watts = _milli(host, f"{path}/operational_power")
        if watts is None and volts is not None and amperes is not None:
            watts = volts * amperes
        if volts is not None:
            found.append(PowerOffer(kind=kind, volts=volts, watts=watts))
    return tuple(found)


def _milli(host: Host, path: str) -> float | None:
    """The number of ``20000mV``, ``3250mA``, ``45000mW`` in volts, amperes, watts."""
    match = re.match(r"(\d+)\s*m[VAW]", hosts.text(host, path) or "")
    return int(match[1]) / 1000 if match else None
