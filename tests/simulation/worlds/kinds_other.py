"""Causes in the installed system, and causes no table of the engine has."""

from __future__ import annotations

from typing import Final

from tests.simulation.worlds.kind import SAYS_CRASH, SOFTWARE, UNKNOWN, Kind

_SLOW = {"slow": 1.0}

SYSTEM: Final = (
    Kind("driver that crashes", 4, SOFTWARE, "*", {}, {"unstable": 6, "switches-off": 0.6},
         steady=0.6, inside=0.9, outside=0.02),
    Kind("system files damaged", 4, SOFTWARE, "*", {},
         {"unstable": 3, "slow": 3, "no-picture": 0.3}, steady=0.9, inside=0.95, outside=0.02),
    Kind("disk full", 3, SOFTWARE, "*", {}, {"slow": 4, "unstable": 1}, steady=1.0, inside=0.95,
         outside=0.02),
    Kind("busy in the background", 3, SOFTWARE, "*", {}, {"slow": 5, "switches-off": 0.3},
         steady=0.6, inside=0.9, outside=0.03),
    Kind("driver missing", 3, SOFTWARE, "*", {}, {"part-missing": 5}, steady=1.0, inside=0.97,
         outside=0.03),
    Kind("setting of the system", 2.5, SOFTWARE, "*", {},
         {"part-missing": 3, "not-charging": 1.5, "slow": 1, "switches-off": 1}, steady=1.0,
         inside=0.95, outside=0.03),
    Kind("locked drive", 1, SOFTWARE, "drive", {"storage.read-errors": 0.4,
         "kernel.storage-protocol": 0.3}, {"part-missing": 3, "unstable": 1}, steady=1.0,
         inside=0.95, outside=0.3),
    Kind("update that failed", 2, SOFTWARE, "*", {}, {"unstable": 3, "slow": 2}, steady=0.8,
         inside=0.95, outside=0.02),
)  # fmt: skip

NO_TABLE: Final = (
    Kind("chassis touches the board", 1, UNKNOWN, "*",
         {"kernel.usb-host": 0.2, "kernel.machine-check": 0.2, "usb.resets": 0.4,
          "kernel.pcie": 0.2, "soak.endured": 0.3}, SAYS_CRASH, steady=0.15, ends="restart"),
    Kind("residue of a spill", 1, UNKNOWN, "*",
         {"kernel.usb": 0.3, "usb.over-current": 0.2, "power.charging": 0.2,
          "kernel.firmware": 0.3}, {"unstable": 3, "not-charging": 1, "part-missing": 1},
         steady=0.3, ends="cool"),
    Kind("magnet at the lid", 0.6, UNKNOWN, "*", {"guided.lid": 0.5}, {"switches-off": 1},
         steady=0.4, inside=0.6, outside=0.5, ends="cool"),
    Kind("vents covered in use", 1, UNKNOWN, "*", {}, {"switches-off": 3, "slow": 2}, steady=1.0,
         inside=0.1, outside=0.1),
    Kind("the customer's network", 0.8, UNKNOWN, "*", {}, {"part-missing": 3, "slow": 2},
         steady=1.0, inside=0.1, outside=0.1),
    Kind("mains at the customer's", 0.6, UNKNOWN, "*", {}, {"not-charging": 2, "no-power": 1,
         "switches-off": 1}, steady=1.0, inside=0.05, outside=0.05),
    Kind("docking station that feeds back", 0.6, UNKNOWN, "*", {"kernel.usb-power": 0.2},
         {"not-charging": 2, "unstable": 2}, steady=0.3, inside=0.2, outside=0.1),
)  # fmt: skip
"""Nothing on sale cures them: right is who buys nothing and names no unit."""
