"""Every probe livecheck has, in the order they are shown."""

from __future__ import annotations

from typing import Final

from livecheck.probes import Probe

ALL: Final[tuple[Probe, ...]] = (
    Probe(
        name="storage",
        title="Drives: health and link",
        function="livecheck.probes.drive.health:probe",
        passive=True,
        deadline=120,
    ),
    Probe(
        name="kernel",
        title="Kernel messages by path",
        function="livecheck.probes.kernel.messages:probe",
        passive=True,
        deadline=10,
    ),
    Probe(
        name="pcie",
        title="PCI Express links",
        function="livecheck.probes.bus.pcie:probe",
        passive=True,
        deadline=20,
    ),
    Probe(
        name="usb",
        title="USB links and sockets",
        function="livecheck.probes.bus.usb:probe",
        passive=True,
        deadline=10,
    ),
    Probe(
        name="shared-path",
        title="Parts behind one controller",
        function="livecheck.probes.bus.shared_path:probe",
        passive=True,
        deadline=10,
    ),
    Probe(
        name="memory-inventory",
        title="Memory modules and error counts",
        function="livecheck.probes.memory.modules:probe",
        passive=True,
        deadline=10,
    ),
    Probe(
        name="wireless",
        title="Wireless and Bluetooth",
        function="livecheck.probes.wireless.bring_up:probe",
        passive=True,
        deadline=20,
    ),
    Probe(
        name="wired",
        title="Wired network: damaged frames",
        function="livecheck.probes.bus.wired:probe",
        passive=True,
        deadline=20,
    ),
    Probe(
        name="display",
        title="Screen: light and link",
        function="livecheck.probes.display.panel:probe",
        passive=True,
        deadline=30,
        full_deadline=120,
    ),
    Probe(
        name="power",
        title="Battery and adapter",
        function="livecheck.probes.power.supply:probe",
        passive=True,
        deadline=20,
    ),
    Probe(
        name="heat",
        title="Temperatures, fans, throttling",
        function="livecheck.probes.heat.sensors:probe",
        passive=True,
        deadline=20,
    ),
    Probe(
        name="firmware",
        title="Firmware tables and clock",
        function="livecheck.probes.firmware.tables:probe",
        passive=True,
        deadline=20,
    ),
    Probe(
        name="wireless-scan",
        title="Wireless: scan",
        function="livecheck.probes.wireless.scan:probe",
        passive=False,
        deadline=120,
        full_deadline=900,
        complaints=("part-missing", "slow", "intake"),
    ),
    Probe(
        name="memory",
        title="Memory under test",
        function="livecheck.probes.memory.march:probe",
        passive=False,
        # The test ends itself; the deadlines leave room for taking and giving back memory.
        deadline=180,
        full_deadline=4.2 * 3600,
        complaints=("unstable", "switches-off", "slow", "intake"),
    ),
    Probe(
        name="processor",
        title="Processor under load",
        function="livecheck.probes.processor.cores:probe",
        passive=False,
        deadline=60,
        full_deadline=3660,
        complaints=("unstable", "switches-off", "slow", "intake"),
    ),
    Probe(
        name="soak",
        title="Soak: processor and memory under load",
        function="livecheck.probes.processor.soak:probe",
        passive=False,
        deadline=600,
        opt_in=True,
    ),
    Probe(
        name="heat-load",
        title="Heat and power under load",
        function="livecheck.probes.heat.under_load:probe",
        passive=False,
        # Rest, load and cooling down, and room for the fits.
        deadline=200,
        full_deadline=2200,
        complaints=("unstable", "switches-off", "slow", "not-charging", "intake"),
        cautions=("hot", "fan"),
    ),
    Probe(
        name="storage-read",
        title="Drives: reading them",
        function="livecheck.probes.drive.read_drives:probe",
        passive=False,
        deadline=300,
        full_deadline=48 * 3600,
        complaints=("slow", "unstable", "part-missing", "intake"),
        supports_control=True,
    ),
    Probe(
        name="optical-read",
        title="Optical drive: reading a disc",
        function="livecheck.probes.drive.optical:probe",
        passive=False,
        deadline=300,
        full_deadline=4 * 3600,
        complaints=("part-missing", "intake"),
        supports_control=True,
    ),
    Probe(
        name="links-hot",
        title="Links and drives, cold and hot",
        function="livecheck.probes.bus.hot_links:probe",
        passive=False,
        deadline=300,
        full_deadline=4 * 3600,
        complaints=("unstable", "switches-off", "no-picture"),
    ),
)

BY_NAME: Final = {probe.name: probe for probe in ALL}
