"""PCI Express: error reports, links of slots, devices gone from their bus.

Wordings: Linux 4.4 to 6.12 ``drivers/pci/pcie/aer.c`` (whose words changed twice), ``dpc.c``,
``err.c``, ``drivers/pci/hotplug/pciehp_*.c``, ``drivers/pci/pci.c``, ``quirks.c``,
``drivers/usb/host/pci-quirks.c``, ``drivers/iommu/amd/iommu.c``;
``Documentation/PCI/pcieaer-howto.rst``.
"""

from __future__ import annotations

import re
from typing import Final

from livecheck.kernel_log import registers
from livecheck.kernel_log.rules import Family, Judged, chatter, judged, rule
from livecheck.kernel_log.words import HOST_BUS, LINK, OTHER, POWER, PROTOCOL, TIMEOUT

ADDRESS: Final = r"[0-9a-f]{4,5}:[0-9a-f]{2}:[0-9a-f]{2}\.[0-7]"

CORRECTED: Final = "corrected"
"""Ends what is said of an error that was repaired by sending again."""


def _bus_error(match: re.Match[str]) -> Judged:
    repaired = match["severity"].lower().startswith("correct")
    kind = match["type"]
    layer = PROTOCOL if kind.startswith("Transaction") else LINK
    if kind.startswith("Inaccessible"):
        layer = HOST_BUS
    severity = CORRECTED if repaired else "uncorrected"
    return layer, f"PCI Express {kind.lower()} error, {severity}", not repaired


def _bit(match: re.Match[str]) -> Judged:
    layer = LINK if match["bit"] in registers.AER_LINK else PROTOCOL
    return layer, f"error bit {match['bit']}", False


def _received(match: re.Match[str]) -> Judged:
    repaired = match["severity"].lower().startswith("correct")
    return LINK, "an error message came from it", not repaired


GONE: Final = "the device is gone from the bus: it cannot be woken"


def _power_state(match: re.Match[str]) -> Judged:
    """Asked for sleep, it stays awake: it is there. Asked to wake, it answers with a sleep's
    number: so do all ones (drivers/pci/pci.c, before and since Linux 5.19)."""
    if match["now"] == "0" or match["wanted"] not in (None, "0"):
        return PROTOCOL, "the device did not go to sleep as asked", False
    return HOST_BUS, GONE, True


def _handed_over(match: re.Match[str]) -> Judged:
    """A USB controller as the firmware leaves it."""
    gone = int(match["status"], 16) == registers.ALL_ONES
    return HOST_BUS, "the USB controller did not answer the kernel's first request", gone


_BITS: Final = "|".join(
    re.escape(name)
    for name in sorted(registers.AER_LINK | registers.AER_TRANSACTION, key=len, reverse=True)
)

_REPORTS: Final = (
    judged(
        r"PCIe Bus Error: severity=(?P<severity>[\w-]+)(?: \([\w-]+\))?, "
        r"type=(?P<type>[A-Za-z ]+?), (?:id=[0-9a-f]+)?\(?(?P<agent>[A-Za-z ]+?)\)?\s*$",
        _bus_error,
    ),
    judged(rf"\s*\[ ?\d+\] (?P<bit>{_BITS})(?:\s+\(First\))?\s*$", _bit),
    judged(
        r"(?:Multiple )?(?P<severity>(?:Unc|C)orrect\w+)(?: \([\w-]+\))? error "
        rf"(?:message )?received(?: from|:) (?:(?P<dev>{ADDRESS})|id=[0-9a-f]+)",
        _received,
    ),
    rule(r"\s*device \[\w{4}:\w{4}\] error status/mask=",
         LINK, "error status of the device", False),
    rule(r"(?:[Dd]evice recovery failed|subordinate device reset failed)", LINK,
         "the link did not recover from an error"),
    chatter(r"(?:\s*TLP Header|\s*Error of this [Aa]gent|can't find device of ID|found no error|"
            r"enabled with IRQ|error containment|aer_|device recovery|Device recovery|"
            r"Root Port link|broadcast|can't recover|device has no AER-aware|"
            r"buffer overflow|\s*\[ ?\d+\] Unknown Error Bit|no pci_dev|AER enabled|"
            r".*link has been)",
            "about an error report"),
)  # fmt: skip

_LINKS: Final = (
    rule(r"(?:DPC )?containment event|unmasked uncorrectable error", LINK,
         "the port cut the link after an error"),
    rule(r"Slot\(\S+\): Power fault", POWER, "the slot's supply failed"),
    rule(r"Slot\(\S+\): (?:Link Down|Cannot train|Failed)|Failed to check link|Cannot train link",
         LINK, "the link of a slot went down or did not train"),
    rule(r"Slot\(\S+\): ", LINK, "a slot reported plugging or pulling", False),
    rule(r"Data Link Layer Link Active not set", LINK, "the link was slow to come up", False),
    rule(r"broken device, retraining|retraining failed", LINK, "the link did not train"),
    rule(r"[\d.]+ Gb/s available PCIe bandwidth, limited by (?P<link>[\d.]+ GT/s PCIe x\d+) link",
         LINK, "the link runs at {link}, below what the device can do", False),
    rule(
        r"[Uu]nable to change power state|can't change power state|"
        r"Device config space inaccessible|.*device inaccessible|PCIe link lost",
        HOST_BUS,
        GONE,
    ),
    judged(r"[Rr]efused to change power state,? (?:currently in|from) D(?P<now>\d)\w*"
           r"(?: to D(?P<wanted>\d)\w*)?", _power_state),
    judged(r"xHCI HW (?:not ready|did not halt) .*status = 0x(?P<status>[0-9a-f]+)", _handed_over),
    rule(r"AMD-Vi: Event logged \[IO_PAGE_FAULT ", HOST_BUS, "a device misaddressed", False),
    rule(r"BAR \d+: error updating \(.*!= 0xf{8}\)", HOST_BUS,
         "the device is gone from the bus: its addresses cannot be set"),
    rule(r"xHCI controller failing to respond", HOST_BUS, "the USB controller did not answer"),
    chatter(r"PCI PM: State|can't (?:disable|override)[^;]*ASPM", "power saving of the device"),
    rule(r"unknown header type (?:7f|ff), ignoring", HOST_BUS, GONE),
    rule(r"not ready (?:after )?\d+ms.*giving up", TIMEOUT, "the device did not come back"),
    rule(r"not ready \d+ms after|timed out waiting for pending", TIMEOUT,
         "the device was slow to come back", False),
)  # fmt: skip

_TAGS: Final = r"(?:AER: |DPC: |pciehp: |aer: )?"

ANY: Final = Family(
    "pcie",
    re.compile(rf"^(?:[\w-]+ )?(?P<dev>{ADDRESS})(?::pcie\w+)?: {_TAGS}"),
    (*_REPORTS, *_LINKS),
    claims=False,
)
"""Of any device: its driver's name stands before its address."""

PORTS: Final = Family(
    "pcie",
    re.compile(rf"^(?:pcieport|pciehp|shpchp|pci|aer|"
               rf"dpc) (?P<dev>{ADDRESS})(?::pcie\w+)?: {_TAGS}"),
    (
        rule(r"VPD access failed|failed VPD read", OTHER, "an optional table was not read", False),
        chatter(
            r"\[[0-9a-f]{4}:[0-9a-f]{4}\]|BAR \d|bridge |PCI bridge|reg 0x|enabling |supports |"
            r"PME[:#]|Max Payload|can't (?:set|derive|enable|claim|disable ASPM|handle|assign)|"
            r"disabl(?:ed|ing)|ASPM: |Capabilit|Signaling PME|Found |Failed attempting to set|"
            r"[EOUx]\w*HCI[: ]|Timeout on hotplug command|Firmware left|BIOS |Primary bus is|"
            r"PCI INT |extended config space|System wakeup|Adding to iommu|Video device|vgaarb: |"
            r"MSI|No bus number|busn_res|ROM |Limiting|limiting|D3cold|ignoring class|Slot #|"
            r"Device \S+ already exists|Cannot add device|"
            r"pciehp: |VC\d|rp_pio|RP PIO|TLP |Intel |CLS mismatch|Error enabling bridge|"
            r"\w+ quirk|quirk|device attach failed|Using |unlocked |not enough MMIO|"
            r"[Uu]nable to enable",
            "what was said while the device was set up",
        ),
    ),
    complains=PROTOCOL,
)  # fmt: skip

FAMILIES: Final = (ANY, PORTS)
