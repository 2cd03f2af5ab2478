"""USB, PCI Express, wireless.

Wordings: Linux 6.1 and 6.12 ``drivers/usb/core/hub.c`` and ``message.c``,
``drivers/usb/host/xhci*.c``, ``drivers/pci/pcie/aer.c``, ``dpc.c``, ``drivers/pci``,
``drivers/net/wireless``, ``net/bluetooth``.
"""

from __future__ import annotations

import re
from typing import Final

from livecheck.kernel_log import words
from livecheck.kernel_log.rules import Family, Judged, judged, rule
from livecheck.kernel_log.words import FIRMWARE, HOST_BUS, LINK, OTHER, POWER, PROTOCOL, TIMEOUT


def _usb_errno(match: re.Match[str]) -> Judged:
    layer = words.ERRNO_LAYER.get(int(match["errno"]), LINK)
    says = {
        LINK: "data was damaged between device and port",
        TIMEOUT: "the device did not answer",
        PROTOCOL: "the device refused a request",
    }
    return layer, says.get(layer, "the device could not be read"), layer != PROTOCOL


USB: Final = Family(
    "usb",
    re.compile(
        r"^usb (?P<dev>usb\d+-port\d+|\d+-[\d.]+(?:-port\d+)?|usb\d+): "
        r"|^hub (?P<hub>[\d.-]+):\d+\.\d+: |^(?:usb )?(?P<port>\d+-[\d.]+-port\d+|usb\d+-port\d+): "
    ),
    (
        rule(
            r"over-?current (?:condition|change)|over-?current",
            POWER,
            "the port switched off: too much current was drawn",
        ),
        judged(r"device descriptor read/\w+, error -(?P<errno>\d+)", _usb_errno),
        judged(r"device not accepting address \d+, error -(?P<errno>\d+)", _usb_errno),
        judged(
            r"(?:unable to read config index|can't read configurations|can't set config|"
            r"string descriptor \d+ read error|unable to get BOS descriptor|"
            r"can't restore configuration|cannot (?:reset|disable|enable)|"
            r"hub_\w*port_status failed|can't (?:set|get) ).*?-(?P<errno>\d+)",
            _usb_errno,
        ),
        rule(r"unable to enumerate USB device", LINK, "something is plugged in and never answered"),
        rule(r"Cannot enable\. Maybe the USB cable is bad", LINK, "the port could not be enabled"),
        rule(r"connect-debounce failed", LINK, "the contact at the port did not settle"),
        rule(r"disabled by hub \(EMI\?\)", LINK, "the hub switched the port off (EMI)"),
        rule(r"attempt power cycle", LINK, "the port was switched off and on to get an answer"),
        rule(r"device firmware changed", PROTOCOL, "the device came back as another", False),
        rule(
            r"reset (?P<speed>[\w-]+) USB device number (?P<number>\d+)",
            LINK,
            "the device was reset",
            False,
        ),
        rule(r"USB disconnect, device number \d+", LINK, "the device went away", False),
        rule(r"not running at top speed", LINK, "it could run faster at a faster port", False),
        rule(
            r"new [\w+ -]+ USB device number|New USB device (?:found|strings)|Product: |"
            r"Manufacturer: |SerialNumber: |USB hub found|ports? detected|Warning! Unlikely",
            OTHER,
            "plugged in",
            False,
        ),
    ),
)

USB_HOST: Final = Family(
    "usb",
    re.compile(r"^(?:xhci[_-]\w+|ehci[_-]\w+|ohci[_-]\w+|uhci[_-]\w+) (?P<dev>[0-9a-f:.]+): "),
    (
        rule(
            r"not responding|assume dead|HC died|Abort failed to stop|Host halt failed|"
            r"can't setup|init .* fail|fatal error|Host took too long",
            HOST_BUS,
            "the USB controller itself stopped answering",
        ),
        rule(r"Timeout while waiting for", TIMEOUT, "a device did not answer its controller"),
        rule(
            r"ERROR Transfer event|WARN.*TRB|Mismatch between",
            PROTOCOL,
            "transfers mixed up",
            False,
        ),
        rule(r"over-?current", POWER, "the port switched off: too much current was drawn"),
        rule(r"xHCI Host Controller|hcc params|bus number|irq \d+", OTHER, "set up", False),
    ),
)


def _aer(match: re.Match[str]) -> Judged:
    corrected = match["severity"].lower().startswith("correct")
    kind = match["type"]
    layer = PROTOCOL if kind.startswith("Transaction") else LINK
    severity = "corrected" if corrected else "uncorrected"
    says = f"PCI Express {kind.lower()} error, {severity}, {match['agent']}"
    return layer, says, not corrected or layer == LINK


def _aer_bit(match: re.Match[str]) -> Judged:
    layer = LINK if match["bit"] in words.AER_LINK else PROTOCOL
    return layer, f"error bit {match['bit']}", False


def _aer_received(match: re.Match[str]) -> Judged:
    corrected = match["severity"].lower().startswith("correct")
    return LINK, f"an error message came from {match['dev']}", not corrected


_ADDRESS: Final = r"[0-9a-f]{4}:[0-9a-f]{2}:[0-9a-f]{2}\.[0-7]"

PCIE: Final = Family(
    "pcie",
    re.compile(
        rf"^(?:[\w-]+ )?(?P<dev>{_ADDRESS}): .*(?:AER|PCIe Bus Error|error status/mask|DPC:|"
        r"pciehp|PCIe bandwidth|retrain|power state|after FLR|after bus reset|after resume|"
        r"inaccessible|not ready \d+ms|\[ ?\d+\] [A-Za-z]+)"
    ),
    (
        judged(
            r"PCIe Bus Error: severity=(?P<severity>[\w-]+)(?: \([\w-]+\))?, "
            r"type=(?P<type>[A-Za-z ]+?), \(?(?P<agent>[A-Za-z ]+?)\)?\s*$",
            _aer,
        ),
        judged(r"\[ ?\d+\] (?P<bit>[A-Za-z0-9][A-Za-z0-9 ]*?)(?:\s+\(First\))?\s*$", _aer_bit),
        judged(
            r"AER: (?:Multiple )?(?P<severity>(?:Unc|C)orrect\w+)(?: \([\w-]+\))? error "
            rf"(?:message )?received(?: from|:) (?P<dev>{_ADDRESS})",
            _aer_received,
        ),
        rule(r"error status/mask=", LINK, "error status of the device", False),
        rule(r"DPC: (?:containment|unmasked)", LINK, "the port cut the link after an error"),
        rule(
            r"Slot\(\S+\): (?:Link Down|Cannot train|Failed)|Failed to check link",
            LINK,
            "the link of a slot went down or did not train",
        ),
        rule(r"Slot\(\S+\): ", LINK, "a slot reported plugging or pulling", False),
        rule(r"broken device, retraining|retraining failed", LINK, "the link did not train"),
        rule(
            r"PCIe bandwidth, limited by (?P<link>[\d.]+ GT/s PCIe x\d+) link",
            LINK,
            "the link runs at {link}, below what the device can do",
            False,
        ),
        rule(
            r"(?:[Uu]nable to|can't) change power state|inaccessible",
            HOST_BUS,
            "the device is gone from the bus: it cannot be woken",
        ),
        rule(r"not ready \d+ms after .*giving up", TIMEOUT, "the device did not come back"),
        rule(r"not ready \d+ms after", TIMEOUT, "the device was slow to come back", False),
        rule(r"AER: enabled|AER: aer_|AER: device recovery|AER: can't", OTHER, "AER", False),
    ),
)

_WIRELESS: Final = r"iwlwifi|ath\w+|mt7\w+|rtw\w+|rtl8\w+|brcm\w+|b43|wl|mwifiex\w*|wcn\w+"

WIRELESS: Final = Family(
    "wireless",
    re.compile(
        rf"^(?:{_WIRELESS})[\w-]* (?P<dev>[0-9a-f:.]+|\d+-[\d.:]+): |^Bluetooth: (?P<hci>hci\d+): "
    ),
    (
        rule(
            r"0xffffffff|[Ff]ailed to wake|device is gone|card not present|"
            r"Timeout waiting for hardware access",
            HOST_BUS,
            "the card is gone from its bus",
        ),
        rule(
            r"Direct firmware load|firmware: failed to load|no suitable firmware|"
            r"[Cc]ould not (?:find|load) .*firmware|failed to (?:fetch|load) .*firmware|"
            r"Failed to load firmware",
            FIRMWARE,
            "a firmware file of the driver is missing or was refused",
            False,
        ),
        rule(
            r"Microcode SW error|firmware crashed|[Ff]irmware error|SYSASSERT|"
            r"Failed to (?:start|run) \w* ?ucode|hardware error 0x",
            PROTOCOL,
            "the card's own processor crashed",
        ),
        rule(r"tx timeout|timed? ?out", TIMEOUT, "the card did not answer in time"),
        rule(r"probe .*failed|failed to (?:init|probe|power)", PROTOCOL, "the card did not start"),
    ),
)
