"""Every probe livecheck has, in the order they are shown."""

from __future__ import annotations

from typing import Final

from livecheck.probes import Probe

ALL: Final[tuple[Probe, ...]] = (
    Probe(
        name="storage",
        title="Drives: health and link",
        function="livecheck.probes.storage:probe",
        passive=True,
        deadline=120,
    ),
    Probe(
        name="kernel",
        title="Kernel messages by path",
        function="livecheck.probes.kernel:probe",
        passive=True,
        deadline=10,
    ),
    Probe(
        name="pcie",
        title="PCI Express links",
        function="livecheck.probes.pcie:probe",
        passive=True,
        deadline=20,
    ),
    Probe(
        name="memory-inventory",
        title="Memory modules and error counts",
        function="livecheck.probes.memory_inventory:probe",
        passive=True,
        deadline=10,
    ),
    Probe(
        name="wireless",
        title="Wireless and Bluetooth",
        function="livecheck.probes.wireless:probe",
        passive=True,
        deadline=20,
    ),
    Probe(
        name="power",
        title="Battery and adapter",
        function="livecheck.probes.power:probe",
        passive=True,
        deadline=20,
    ),
    Probe(
        name="heat",
        title="Temperatures, fans, throttling",
        function="livecheck.probes.heat:probe",
        passive=True,
        deadline=20,
    ),
    Probe(
        name="firmware",
        title="Firmware tables and clock",
        function="livecheck.probes.firmware:probe",
        passive=True,
        deadline=20,
    ),
)

BY_NAME: Final = {probe.name: probe for probe in ALL}
