"""Heat: clocks that were cut, temperatures at which the machine switches itself off.

Wordings: Linux 4.4 to 6.12 ``drivers/thermal/intel/therm_throt.c``, ``thermal_core.c``,
``kernel/reboot.c``, ``drivers/acpi/thermal.c``, ``drivers/platform/x86``.
"""

from __future__ import annotations

import re
from typing import Final

from livecheck.kernel_log.rules import Family, chatter, rule
from livecheck.kernel_log.words import THERMAL

_HOT: Final = rule(
    r".*(?:critical temperature|Critical temperature|HARDWARE PROTECTION|THERMAL EMERGENCY|"
    r"thermal shutdown|hit the 'shutdown')",
    THERMAL,
    "a critical temperature was reached: the machine switches itself off",
)

FAMILIES: Final = (
    Family(
        "thermal",
        re.compile(
            r"^(?:mce: )?(?=CPU\d+: (?:(?:Core|Package) (?:temperature|power)|Temperature|"
            r"Running in modulated))"
        ),
        (
            rule(
                r"(?P<who>CPU\d+): (?P<what>Core|Package) temperature (?:is )?above threshold",
                THERMAL,
                "{what} of {who} too hot: its clock was cut",
            ),
            rule(
                r"(?P<who>CPU\d+): (?:Temperature above|Running in modulated)",
                THERMAL,
                "{who} too hot: its clock was cut",
            ),
            rule(r".*[Tt]emperature/speed normal", THERMAL, "cool enough again", False),
            rule(r".*power limit", THERMAL, "the clock was cut to save power", False),
        ),
    ),
    Family(
        "thermal",
        re.compile(
            r"^(?:thermal (?P<dev>\S+?): |reboot: |acpitz: |"
            r"(?:ACPI: )?(?=Critical temperature reached))"
        ),
        (
            _HOT,
            chatter(
                r"(?:\w+: )?(?:failed to read out|Unable to get temperature|Invalid|No valid|"
                r"Failed to|binding)",
                "a sensor was not read",
            ),
        ),
        claims=False,
    ),
    Family(
        "thermal",
        re.compile(r"^(?:thinkpad_acpi|\w+_acpi|\w+-laptop|nouveau \S+): (?=.*(?:THERM|therm))"),
        (
            _HOT,
            rule(r".*(?:too hot|extremely hot|THERMAL ALERT|critical)", THERMAL, "a sensor is hot"),
        ),
        claims=False,
    ),
)
