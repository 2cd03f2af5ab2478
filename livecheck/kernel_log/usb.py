"""USB devices and ports, and the drivers of what is plugged in.

Wordings: Linux 6.1 and 6.12 ``drivers/usb/core/hub.c``, ``message.c``, ``config.c``, ``driver.c``,
``drivers/usb/host/xhci.c``, ``drivers/media/usb/uvc``, ``drivers/hid/usbhid``. Errnos:
``Documentation/driver-api/usb/error-codes.rst``.
"""

from __future__ import annotations

import re
from typing import Final

from livecheck.kernel_log import errnos
from livecheck.kernel_log.rules import Family, Judged, chatter, judged, rule
from livecheck.kernel_log.words import FIRMWARE, HOST_BUS, LINK, OTHER, POWER, PROTOCOL, TIMEOUT

RESET: Final = "the device was reset"
WENT_AWAY: Final = "the device went away"
OVER_CURRENT: Final = "the port switched off: too much current was drawn"


def port_of(hub: str | None, port: str | None) -> str | None:
    """Name of a hub's port, as kernels before 3.16 did not write it: 2-0 and 4 are usb2-port4."""
    if hub is None or port is None:
        return hub
    root = re.fullmatch(r"(\d+)-0", hub)
    return f"usb{root[1]}-port{port}" if root else f"{hub}-port{port}"


_SAYS: Final = {
    LINK: "data was damaged between device and port",
    TIMEOUT: "the device did not answer",
    PROTOCOL: "the device refused a request",
    HOST_BUS: "its controller had been switched off",
}


_NOT_ITS_OWN: Final = frozenset({PROTOCOL, HOST_BUS})
"""Layers at which a request failed for what may be no fault of the device or its port."""


def _errno(match: re.Match[str]) -> Judged:
    number = int(match["errno"])
    layer = errnos.ERRNO_LAYER.get(number, PROTOCOL if number in errnos.SET_UP else LINK)
    return layer, _SAYS.get(layer, "the device could not be read"), layer not in _NOT_ITS_OWN


_REFUSED: Final = 32
"""EPIPE: the device answered, and would not say."""


def _identity(match: re.Match[str]) -> Judged:
    """A device that does not tell its first configuration is given up (usb/core/config.c)."""
    number = int(match["errno"] or _REFUSED)
    if number != _REFUSED:
        return _errno(match)
    return PROTOCOL, "the device would not tell what it is", match["further"] is None


def _asleep(match: re.Match[str]) -> Judged:
    """Going to sleep and waking up again fail for many reasons that are no fault."""
    layer, _, _ = _errno(match)
    return layer, "the device did not go to sleep or wake up as asked", False


def _asked(match: re.Match[str]) -> Judged:
    """A request of a driver for one kind of device; cameras refuse many."""
    if int(match["errno"]) not in errnos.ERRNO_LAYER:
        return PROTOCOL, _SAYS[PROTOCOL], False
    layer, says, _ = _errno(match)
    return layer, says, layer == LINK


_STRINGS: Final = chatter(
    r"(?:Product|Manufacturer|SerialNumber): |new [\w+ -]+ USB device|New USB device|"
    r"USB hub found|\d+ ports? detected|Warning! Unlikely",
    "plugged in",
)
"""First: what stands behind them is the device's own word."""

_SETTING_UP: Final = chatter(
    r"config (?:\d|index)|no configuration|unable to get BOS|skipping garbage|language id|"
    r"root hub lost power|Device is not authorized|Interface \d+ is not authorized|(?:Dis|"
    r"En)able of|Could not|"
    r"Parent hub missing|Failed to set|Failed to (?:dis|en)able|Using (?:single TT|ep0)|"
    r"Not enough (?:bandwidth|host)|device v\w+ p\w+|device \S+ not susp|"
    r"ERROR: |WARN: |usb_reset_and|\d+:\d+: |Host not accepting|invalid descriptor|"
    r"LPM |ep0? \w+|"
    r"LS/FS devices|bad descriptor|Busted HC|selecting invalid|new config|[Qq]uirks?|"
    r"parent hub has|"
    r"Port disable|ignoring external|Dual-Role|usbfs: |interface \d+ claimed|opened by|"
    r"\w+\(\): cannot get|transfer buffer|setup packet|Unsupported bus topology|bogus|"
    r"No Union|Zero length|"
    r"Invalid ep0|device_add|More than one union|Link PM max",
    "what was said while the device was set up",
)

USB: Final = Family(
    "usb",
    re.compile(
        r"^usb (?P<dev>usb\d+-port\d+|\d+-[\d.]+(?:-port\d+)?|usb\d+): "
        r"|^hub (?P<dev2>[\d.-]+):\d+\.\d+: |^(?:usb )?(?P<dev3>\d+-[\d.]+-port\d+|"
        r"usb\d+-port\d+): "
    ),
    (
        _STRINGS,
        chatter(r"config failed, hub doesn't have any ports", "a hub without sockets"),
        rule(r"over-?current (?:condition|change)(?: on port (?P<port>\d+))?|"
             r"port (?P<port2>\d+) over-?current", POWER, OVER_CURRENT),
        rule(r"insufficient power|\d+mA (?:is )?over|rejected \d+ config|can't connect bus-powered",
             POWER, "the port cannot give what the device asks for", False),
        judged(r"(?:device descriptor read/\w+, error|device not accepting address \d+, error) "
               r"-(?P<errno>\d+)", _errno),
        judged(
            r"(?:[Ff]ailed to (?:suspend|reprobe|resume)|suspend error|resume error|"
            r"can't resume|failed to restore|PM: |Failed to set U\d timeout|"
            r"device not resumed|rebind failed).*? -(?P<errno>\d+)",
            _asleep,
        ),
        rule(r"Direct firmware load", FIRMWARE, "a firmware file of the driver is missing", False),
        judged(r"(?:unable to read config index (?:0|(?P<further>\d+)) descriptor/\w+|"
               r"can't read configurations, error)(?::? -(?P<errno>\d+))?$", _identity),
        judged(
            r"(?:can't set config|"
            r"string descriptor \d+ read error|can't restore configuration|"
            r"cannot (?:\w+ )?(?:reset|disable|enable|submit urb)|hub failed to enable|"
            r"\w+ failed \(err =|\w+ (?:cmplt|urb:) (?:err|status)|config failed, .*err|"
            r"activate -->|resubmit -->|clear tt|"
            r"can't (?:set|get|reset|device_add)|can't \w+|.*error:?) ?.*?-(?P<errno>\d+)",
            _errno,
        ),
        judged(r"Failed to (?:set|query) .*UVC .*: -(?P<errno>\d+)", _asked),
        rule(r"unable to enumerate USB device(?: on port (?P<port>\d+))?",
             LINK, "something is plugged in and never answered"),
        rule(r"Cannot enable(?: port (?P<port>\d+))?\. +Maybe the USB cable is bad",
             LINK, "the port could not be enabled"),
        rule(r"connect-debounce failed(?:, port (?P<port>\d+))?",
             LINK, "the contact at the port did not settle"),
        rule(r"(?:port (?P<port>\d+) )?disabled by hub \(EMI\?\)",
             LINK, "the hub switched the port off (EMI)"),
        rule(r"attempt power cycle", LINK, "the port was switched off and on to get an answer"),
        rule(r"Device (?:not responding|no response)", TIMEOUT, "the device did not answer"),
        rule(r"device firmware changed", PROTOCOL, "the device came back as another", False),
        rule(r"config error", LINK, "device and port did not agree on their link", False),
        rule(r"device reset changed|got a wrong device descriptor", PROTOCOL,
             "the device came back as another"),
        rule(r"reset [\w+ -]+ USB device", LINK, RESET, False),
        rule(r"USB disconnect, (?:device number|address) \d+", LINK, WENT_AWAY, False),
        rule(r"not running at top speed", LINK, "it could run faster at a faster port", False),
        rule(r"couldn't allocate usb_device|couldn't create port", OTHER,
             "the controller gave the port no device", False),
        rule(r"get_hub_status failed|set hub depth failed|config failed", PROTOCOL,
             "the hub refused a request"),
        _SETTING_UP,
    ),
    complains=PROTOCOL,
)  # fmt: skip

DRIVERS: Final = Family(
    "usb",
    re.compile(
        r"^(?:usbhid|hid-generic|usb-storage|uas|cdc_\w+|btusb|uvcvideo|snd-usb-audio|r8152|"
        r"ax88\w*|asix|usblp|ftdi_sio|option|qmi_wwan) (?P<dev>\d+-[\d.]+):\d+\.\d+:? "
    ),
    (
        judged(r".*?(?:status|error|[Ff]ailed|err\b|result|:)[^-]*?\(?-(?P<errno>\d+)\b", _asked),
        chatter(r"Found UVC|USB Mass Storage|UAS is ignored|New device|Unit \d|register|Entity|"
                r"No valid|usb_submit|input|can't|Unable|Failed|Error|Quirks|unregister",
                "what the device's driver said"),
    ),
    claims=False,
)  # fmt: skip

_CAMERA: Final = Family(
    "usb",
    re.compile(r"^uvcvideo: "),
    (judged(r".*?(?:status|control)[^-]*?\(?-(?P<errno>\d+)\b", _asked),),
    claims=False,
)
"""A camera's driver before Linux 6: it does not say which camera."""

FAMILIES: Final = (USB, DRIVERS, _CAMERA)
