"""Chips inside the processors of ARM machines, and what only such machines say.

Wordings: Linux 6.12 ``drivers/pci/controller`` (``dwc``, ``pcie-rockchip-host.c``,
``pcie-brcmstb.c``, ``pcie-apple.c``), ``drivers/nvme/host/apple.c``,
``drivers/soc/apple/rtkit.c``, ``drivers/remoteproc``, ``drivers/iommu/arm``,
``drivers/hwmon/raspberrypi-hwmon.c``, ``drivers/platform/chrome``, ``drivers/power/supply`` (from
memory).
"""

from __future__ import annotations

import re
from typing import Final

from livecheck.kernel_log import acpi, errnos, nvme
from livecheck.kernel_log.board import DRIVER, SILENT
from livecheck.kernel_log.rules import Family, Judged, chatter, judged, rule
from livecheck.kernel_log.words import HOST_BUS, LINK, POWER, PROTOCOL, TIMEOUT


def _failed(match: re.Match[str]) -> Judged:
    return errnos.layer_of_errno(int(match["errno"])), SILENT, False


_FAILED: Final = judged(r"(?i:.*?(?:fail|error)).*?[ (:=]-(?P<errno>\d+)\)?", _failed)

_BRIDGES: Final = Family(
    "pcie",
    re.compile(r"^[\w-]*pcie[\w-]* (?P<dev>[0-9a-f]+\.pcie?): (?:pcie@\w+: )?"),
    (
        # An empty slot says the same.
        rule(r"PCIe link training|Phy link never came up|.*[Ll]ink (?:didn't come up|(?:is )?down|"
             r"is DOWN|up failed|up (?:timeout|failed)|Fail)|Failed to link up", LINK,
             "the link of a slot did not come up: the slot may be empty", False),
        chatter(r".*(?:link up|Link up|Linking|host bridge|ranges|regulator|iATU|bus scan|gpio)",
                "what was said while the device was set up"),
    ),
    complains=PROTOCOL,
)  # fmt: skip

_DRIVE: Final = Family(
    "nvme",
    re.compile(r"^nvme-apple (?P<dev>[0-9a-f]+\.nvme): "),
    (
        rule(r"I/O .*timeout", TIMEOUT, "a command was not answered in time"),
        rule(r"RTKit: .*crashed", PROTOCOL, "the drive's own processor crashed"),
        *nvme.RULES,
    ),
    complains=PROTOCOL,
)

_PROCESSORS: Final = Family(
    DRIVER,
    # Of sound, radio and power: they are started anew by themselves.
    re.compile(r"^(?:qcom_q6v5\w*|remoteproc|apple-rtkit\S*|macsmc\S*|qcom[_-]pmic\w*|q6\w+) "
               r"(?P<dev>\S+): "),
    (
        _FAILED,
        rule(r"(?:RTKit: )?.*(?:crash|fatal error|watchdog received)", PROTOCOL,
             "a processor for some task of its own crashed", False),
        rule(r".*[Tt]im(?:ed ?|e)-?out", TIMEOUT, SILENT, False),
        chatter(r"Failed to create device link|remote processor|Booting fw|stopped|.*is available|"
                r"recovering|handling crash", "the driver of a processor for some task of its own"),
    ),
    complains=PROTOCOL,
)  # fmt: skip

_MAPPER: Final = Family(
    "firmware",
    re.compile(r"^(?:arm-smmu\S*|apple-dart) (?P<dev>\S+): "),
    (
        rule(
            r".*(?:TLB sync timed out|CMD_SYNC timeout|CMDQ error)",
            HOST_BUS,
            "the unit that maps devices to memory did not answer",
        ),
        rule(r".*(?:fault|event 0x)", HOST_BUS, "a device misaddressed", False),
        chatter(r"", "the unit that maps devices to memory"),
    ),
)

_SUPPLY: Final = Family(
    "power supply",
    re.compile(r"^(?:hwmon hwmon\d+: )?(?=Under-?voltage detected|Voltage normalised)"),
    (
        rule(r"Under", POWER, "the machine's supply is below its voltage"),
        chatter(r"", "the machine's supply has its voltage again"),
    ),
)

_CONTROLLER: Final = Family(
    acpi.CONTROLLER,
    # Of machines whose embedded controller is not ACPI's.
    re.compile(r"^(?:cros[_-]ec[\w-]*|surface_(?:serial_hub|aggregator)\w*) (?P<dev>\S+): "),
    (
        rule(r".*(?:[Tt]im(?:ed ?|e)-?out|failed to respond|-110)", TIMEOUT,
             "the embedded controller did not answer in time"),
        chatter(r"ptl: received ACK for non-pending", "it was told of a packet a second time"),
        _FAILED,
    ),
    complains=PROTOCOL,
)  # fmt: skip

_GAUGE: Final = Family(
    "power supply",
    re.compile(r"^(?:bq\d\w*|sbs-\w+|max17\w+|cw2015|axp\w+|rk8\w+|qcom[_-]battmgr\S*) "
               r"(?P<dev>\S+): "),
    (_FAILED,),
    complains=PROTOCOL,
)  # fmt: skip
"""Chips that charge a battery and tell its state."""

FAMILIES: Final = (_BRIDGES, _DRIVE, _PROCESSORS, _MAPPER, _SUPPLY, _CONTROLLER, _GAUGE)
