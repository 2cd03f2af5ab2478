"""One function of the kernel's PCI tree, as it is read."""

from __future__ import annotations

import re
from typing import Final

from livecheck import host as hosts
from livecheck.host import Host, UdevDevice, Unreadable
from livecheck.inventory import config_space
from livecheck.inventory.ids import IdDatabase
from livecheck.records import PciFacts, Record

ADDRESS: Final = re.compile(r"[0-9a-f]{4,5}:[0-9a-f]{2}:[0-9a-f]{2}\.[0-7]$")


class PciFunction(Record, frozen=True, kw_only=True):
    """One function of the kernel's PCI tree."""

    address: str
    path: str
    class_code: int
    vendor: int
    device: int
    driver: str | None
    config: config_space.Function | None
    whole: bool
    """True: more than the first 64 bytes of it could be read."""
    answers: bool | None
    """False: its configuration space reads all ones; None: it could not be read."""
    wireless: bool
    above: str | None
    """Address of the bridge it is behind; None on a root bus."""
    listed: UdevDevice


def read(host: Host, listed: UdevDevice) -> PciFunction | None:
    """The function that a device of the udev database is; None for none."""
    if not ADDRESS.match(listed.name):
        return None
    try:
        raw: bytes | None = host.read(f"{listed.path}/config")
    except Unreadable:
        raw = None
    parent = listed.path.rpartition("/")[0].rpartition("/")[2]
    below = [*host.names(f"{listed.path}/ieee80211"), *host.names(f"{listed.path}/bluetooth")]
    answers = None if not raw else raw[:4] != b"\xff\xff\xff\xff"
    return PciFunction(
        address=listed.name,
        path=listed.path,
        class_code=hosts.number(host, f"{listed.path}/class", 16) or 0,
        vendor=hosts.number(host, f"{listed.path}/vendor", 16) or 0,
        device=hosts.number(host, f"{listed.path}/device", 16) or 0,
        driver=listed.driver,
        config=config_space.decode(raw) if raw else None,
        whole=raw is not None and len(raw) > 64,
        answers=answers,
        wireless=bool(below),
        above=parent if ADDRESS.match(parent) else None,
        listed=listed,
    )


def facts_of(function: PciFunction) -> PciFacts:
    """What configuration space says; status registers as numbers."""
    config = function.config
    link = config.link if config else None
    errors = config.errors if config else None
    return PciFacts(
        above=function.above,
        answers=function.answers,
        link_speed_gts=link.speed_gts if link else None,
        link_width=link.width if link else None,
        link_max_speed_gts=link.max_speed_gts if link else None,
        link_max_width=link.max_width if link else None,
        device_status=config.device_status if config else None,
        aer_correctable=errors.correctable if errors else None,
        aer_uncorrectable=errors.uncorrectable if errors else None,
    )


def is_port(function: PciFunction) -> bool:
    """Whether it is a port whose link leads away from the processor."""
    if function.class_code >> 8 != 0x0604:
        return False
    port_type = function.config.port_type if function.config else None
    if port_type is None:
        # Capabilities are hidden from an ordinary user: only a port carries pcie services.
        return function.driver == "pcieport"
    return port_type in (config_space.ROOT_PORT, config_space.DOWNSTREAM)


def name(function: PciFunction, names: IdDatabase) -> str:
    """By the ID database, else by what it is."""
    properties = function.listed.properties
    by_database = names.pci_device(function.vendor, function.device)
    by_class = names.pci_class(function.class_code >> 8)
    plain = f"PCI function {function.vendor:04x}:{function.device:04x}"
    return by_database or properties.get("ID_MODEL_FROM_DATABASE") or by_class or plain


def short_address(address: str) -> str:
    """An address without the segment when that is the only usual one."""
    return address.removeprefix("0000:")
