"""Keyboards, pads and the buses they hang on.

Wordings: Linux 6.1 and 6.12 ``drivers/hid/i2c-hid/i2c-hid-core.c``, ``drivers/i2c/busses``,
``drivers/input/serio/i8042.c``, ``drivers/input/keyboard/atkbd.c``,
``drivers/input/mouse/psmouse-base.c``, ``synaptics.c``, ``elantech.c``, ``drivers/input/rmi4``.
"""

from __future__ import annotations

import re
from typing import Final

from livecheck.kernel_log import errnos
from livecheck.kernel_log.rules import Family, Judged, chatter, judged, rule
from livecheck.kernel_log.words import FIRMWARE, HOST_BUS, LINK, PROTOCOL, TIMEOUT

INPUT: Final = "input"
SCREEN: Final = "touch screen"
"""No component of its own, and not the pad."""


def _failed(match: re.Match[str]) -> Judged:
    number = int(match["errno"])
    asked = number not in errnos.SET_UP
    return errnos.layer_of_errno(number), "the device did not start or answer", asked


def _request(match: re.Match[str]) -> Judged:
    return errnos.layer_of_errno(int(match["errno"])), "the device refused a request", False


_ERRNO: Final = judged(
    r"(?i:.*?(?:fail|error|can't|could not|unable)\w*\b.*?)[ (:=]-(?P<errno>\d+)\)?", _failed
)

_ON_I2C: Final = (
    rule(r"Direct firmware load", FIRMWARE, "a firmware file of the driver is missing", False),
    _ERRNO,
    # Since Linux 6.8 the driver goes on without it; before, "failed to reset" follows.
    rule(r"device did not ack reset", TIMEOUT, "the device did not acknowledge a reset", False),
    rule(r".*(?:did not ack|time(?:d )?-?out)", TIMEOUT, "the device did not answer"),
    rule(r"failed to (?:change power|set a report|retrieve report)", PROTOCOL,
         "the device refused a request", False),
    rule(r"i2c_hid_get_input: incomplete report", PROTOCOL, "a report was cut short", False),
    rule(r"invalid report id", PROTOCOL, "the device sent what it was not asked for", False),
    rule(r"failed to (?:reset|retrieve)|hid_descr_cmd failed|"
         r"(?:weird|unexpected) (?:size|HID|bcd)|.*[Ff]ailed", PROTOCOL,
         "the device did not start or answer"),
    chatter(r"HID over i2c has not|.*supply|.*Fixed|"
            r".*quirk|supplied|Invalid config|error in i2c_hid_init_report|"
            r"IRQ triggered|asking|.*buffer", "what the device's driver said"),
)  # fmt: skip

_I2C_HID: Final = Family(
    INPUT,
    re.compile(r"^(?:i2c_hid|i2c-hid|elan_i2c|cyapa|hid_over_i2c)\w* (?P<dev>\S+): "),
    _ON_I2C,
    complains=PROTOCOL,
)

_TOUCH_SCREEN: Final = Family(
    SCREEN,
    re.compile(r"^(?:raydium_ts|goodix\S*|Goodix-TS|wacom_i2c|elants_i2c|silead_ts|atmel_mxt_ts|"
               r"edt_ft5x06|ilitek\w*|himax\w*|novatek\w*|zinitix|melfas\w*) (?P<dev>\S+): "),
    _ON_I2C,
    complains=PROTOCOL,
)  # fmt: skip

_BUSES: Final = Family(
    "i2c",
    re.compile(r"^(?:i2c_designware|i801_smbus|piix4_smbus|i2c_\w+|intel-lpss|idma64|"
               r"amd_mp2\S*|pxa2xx-spi) (?P<dev>\S+): "),
    (
        # Asked for the modules' data, whose lines the firmware may have closed.
        rule(r"Transaction timeout|Timeout waiting for interrupt|SMBus Timeout", TIMEOUT,
             "the bus of small devices was slow", False),
        rule(r"controller timed out|timeout waiting for bus|.*timeout in (?:dis|en)abling|"
             r"Timeout waiting|timed out", TIMEOUT,
             "the bus of small devices did not come free"),
        rule(r"Unknown Synopsys component type: 0xffffffff|.*0xffffffff", HOST_BUS,
             "the controller is gone from its bus"),
        rule(r"(?:\w+: )?[Ll]ost arbitration", LINK,
             "another speaks on the bus of small devices, or a line of it is held", False),
        chatter(r"Transfer while suspended|SMBus |SPD |"
                r"Failed terminating|"
                r"BIOS is accessing|enabling|Auxiliary|Using|No response|Bus collision|"
                r"Error: command|sda_hold|bus-clock|detected", "what the bus's driver said"),
    ),
    complains=PROTOCOL,
)  # fmt: skip

_HID: Final = Family(
    "hid",
    # drivers/hid: of whatever hangs on I2C, USB or Bluetooth.
    re.compile(r"^(?:hid|hid[-_][\w-]+|wacom|logitech-\w+) "
               r"(?P<dev>\(\w+\)|(?:[0-9A-F]{4}:){3}[0-9A-F]{4}|[0-9A-F:]+\.[0-9A-F]{4}): "),
    (
        judged(r".*?(?:fail|error|retries|timeout)\w*\b.*?[ (:=]-(?P<errno>\d+)\)?", _request),
        rule(r".*[Tt]ime(?:d )?-?out", TIMEOUT, "the device was slow", False),
        chatter(r"unknown main item|device has no listeners|item fetching|hidraw|input|"
                r"unbalanced|invalid report|[Uu]nexpected|Using ", "what the device's driver said"),
    ),
    complains=PROTOCOL,
)  # fmt: skip

_PS2: Final = (
    rule(r".*bad (?:parity|data from KBC - bad parity)", LINK, "data was damaged on the way"),
    rule(r".*(?:lost synchronization|lost sync|resync failed|bad data from KBC|driver resynced|"
         r"throwing|issuing reconnect)", LINK, "the pad lost its step", False),
    rule(r"Failed to (?:enable|deactivate|reset|query)|.*[Uu]nable to (?:query|initialize|reset)|"
         r".*keyboard reset failed|.*[Ff]ailed to", PROTOCOL, "the device did not answer", False),
    rule(r".*refuses to", PROTOCOL, "the device did not take a command", False),
    chatter(
        r"Unknown key|Use 'setkeycodes|Spurious|Keyboard on|Touchpad|touchpad|.*Touchpad|"
        r"Your touch|"
        r"trackpoint|synaptics|elantech|alps|hgpk|sentelic|fsp|\w+ hardware|.*queried|.*serio|"
        r"enabling|keyboard",
        "what the device's driver said",
    ),
)  # fmt: skip

FAMILIES: Final = (
    _I2C_HID,
    _TOUCH_SCREEN,
    _BUSES,
    _HID,
    Family(
        INPUT,
        # Before Linux 2.6.38 the file's name stood there (psmouse-base.c).
        re.compile(r"^(?:psmouse|atkbd|serio|synaptics|rmi4_\w+) (?P<dev>\S+): (?:\w+: )?|"
                   r"^(?:psmouse|atkbd)\.c: (?:\S+ at isa0060/(?P<dev2>serio\d+)/input\d+ )?"),
        _PS2,
        complains=PROTOCOL,
    ),
    Family(
        INPUT,
        re.compile(r"^(?P<driver>i8042)(?: i8042)?: (?:i8042: )?"),
        (
            # Many machines have none, and their firmware lists one all the same.
            rule(r"(?:Can't (?:read|write)|.*[Cc]ontroller is not responding|.*reset failed|"
                 r".*self test|probe )", HOST_BUS, "no keyboard controller answered", False),
            chatter(r"", "the keyboard controller's driver"),
        ),
    ),
)  # fmt: skip
