"""What a machine can do without: cameras' sensors, thermometers of memory modules, processors
for some task of their own.

Many sound machines lack the file, the driver or the permission that theirs needs: what these
say is never serious. Wordings: Linux 6.12 ``drivers/media/i2c``, ``drivers/hwmon/spd5118.c``,
``drivers/accel``, ``drivers/crypto/ccp``, ``drivers/hid/intel-ish-hid``, ``amd-sfh-hid``,
``drivers/thermal/intel``, ``drivers/platform/x86``, ``drivers/net/wwan``.
"""

from __future__ import annotations

import re
from typing import Final

from livecheck.kernel_log import errnos
from livecheck.kernel_log.board import SILENT
from livecheck.kernel_log.rules import Family, Judged, chatter, judged, rule
from livecheck.kernel_log.words import PROTOCOL, TIMEOUT


def _failed(match: re.Match[str]) -> Judged:
    return errnos.layer_of_errno(int(match["errno"])), SILENT, False


_FAILED: Final = judged(r"(?i:.*?(?:fail|error)).*?[ (:=]-(?P<errno>\d+)\)?", _failed)

_CAMERA: Final = Family(
    "camera",
    re.compile(
        r"^(?:ov\w+|imx\d+|hi\d+|hm\d+|gc\d+\w*|s5k\w+|og01\w+|mt9\w+)"
        r"(?: (?P<dev>i2c-\S+|\d+-[0-9a-f]{4}): |: (?=probe of (?P<dev2>i2c-\S+)))"
    ),
    # A sensor that the system does not know how to switch on acknowledges nothing either.
    (_FAILED, chatter(r"", "the driver of a camera's sensor")),
)

_HELPERS: Final = Family(
    "helper",
    re.compile(
        r"^(?:intel_vpu|amdxdna|ccp|intel_ish_ipc|pcie_mp2_amd|proc_thermal\w*|intel-ipu6\S*|"
        r"intel_vsec|intel_pmc_core|amd[_-]pm[cf]|mtk_t7xx|iosm|intel_gna|vsc-tp|mei_vsc\w*|"
        r"intel_pch_thermal|intel_ips|k10temp|intel-spi|spi-nor) (?P<dev>\S+): "
    ),
    (
        _FAILED,
        rule(r".*[Tt]im(?:ed ?|e)-?out", TIMEOUT, SILENT, False),
        rule(r".*(?:[Ff]ail|ERROR)", PROTOCOL, SILENT, False),
        chatter(r"", "the driver of a processor for some task of its own"),
    ),
)
"""Processors for reckoning, sensors, keys, heat and mobile networks."""

THERMOMETER: Final = Family(
    "memory thermometer",
    # Firmware that guards the modules' data refuses the writes it needs after sleep.
    re.compile(r"^(?:spd5118|jc42|ee1004) (?P<dev>\d+-[0-9a-f]{4}): "),
    (chatter(r"", "the thermometer of a memory module"),),
)

FAMILIES: Final = (_CAMERA, _HELPERS)
