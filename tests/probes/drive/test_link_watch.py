"""The way to a drive before and after a read: counters, the kernel's lines, the link's speed.

Outside sources: the kernel's lines are libata's (Linux 6.12 ``libata-eh.c``: "limiting SATA link
speed to", SError words), counters as Documentation/ABI/testing/sysfs-bus-pci-devices-aer
prints them, speeds as ``sata_spd`` (Documentation/ABI/testing/sysfs-ata) and
``current_link_speed`` (sysfs-bus-pci) write them.
"""

from __future__ import annotations

import pytest

from livecheck import knowledge
from livecheck.host import KernelMessage
from livecheck.probes import Context
from livecheck.probes.drive import link_watch
from livecheck.probes.drive.link_watch import LinkState
from livecheck.probes.drive.smart_data import AtaHealth, PhyCounter
from livecheck.records import Device, Inventory, Outcome, Part, PciFacts, Place, Presence
from tests.inventory.fake_host import FakeHost

PORT, CARD = "/sys/devices/pci0000:00/0000:00:1d.0", "/sys/devices/pci0000:00/0000:02:00.0"
SATA = Part(id="drive:A", kind="drive", name="a drive", place="ata:x:1", block="sda")
NVME = Part(id="drive:N", kind="drive", name="an NVMe drive", place="slot:x")
INVENTORY = Inventory(
    places=(
        Place(id="ata:x:1", kind="sata-port", name="SATA port 1", presence=Presence.SEEN,
              ata="ata1"),
    ),
    parts=(SATA, NVME),
    devices=(
        Device(subsystem="ata_port", name="ata1", path="/sys/a", component="ata:x:1"),
        Device(subsystem="pci", name="0000:00:1d.0", path=PORT),
        Device(subsystem="pci", name="0000:02:00.0", path=CARD, component=NVME.id,
               facts=PciFacts(above="0000:00:1d.0")),
    ),
)  # fmt: skip


class _Host(FakeHost):
    """A host with kernel messages."""

    def __init__(self, files: dict[str, str], *lines: str) -> None:
        super().__init__(files, as_root=False)
        self.lines = lines

    def kernel_log(self) -> tuple[KernelMessage, ...]:
        return tuple(KernelMessage(float(n), 3, line) for n, line in enumerate(self.lines))


def _context(host: FakeHost) -> Context:
    return Context(host=host, inventory=INVENTORY, events=(), knowledge=knowledge.load())


def _phy(count: int) -> LinkState:
    return LinkState(ata=AtaHealth(phy=(PhyCounter(number=0x00B, count=count),)))


@pytest.mark.parametrize(
    ("before", "after", "outcome", "value"),
    [
        (_phy(7), _phy(7), Outcome.PASSED, 0),
        (_phy(7), _phy(12), Outcome.FAILED, 5),
        (LinkState(pcie_errors=3), LinkState(pcie_errors=4), Outcome.FAILED, 1),
        (LinkState(pcie_errors=3), LinkState(pcie_errors=3), Outcome.PASSED, 0),
        (LinkState(), LinkState(), Outcome.NOT_JUDGED, None),
        (_phy(7), None, Outcome.NOT_JUDGED, None),
    ],
)
def test_only_a_rise_counts(
    before: LinkState, after: LinkState | None, outcome: Outcome, value: int | None
) -> None:
    """Counts of a life are old; what rose during the read is present."""
    found = link_watch.change(before, after)
    assert (found.outcome, found.value) == (outcome, value)


def test_the_kernels_lines_of_that_time_count() -> None:
    """Lines that came after the start and name this drive's port; older and foreign ones do not."""
    host = _Host(
        {},
        "ata1: SError: { BadCRC }",
        "ata2: SError: { BadCRC }",
        "ata1: limiting SATA link speed to 3.0 Gbps",
        "ata1.00: error: { UNC }",
    )
    context = _context(host)
    late = link_watch.new_events(context, SATA.id, since=0.0)
    assert [e.raw for e in late] == ["ata1: limiting SATA link speed to 3.0 Gbps"]
    assert len(link_watch.new_events(context, SATA.id, since=-1.0)) == 2
    found = link_watch.change(LinkState(), LinkState(), late)
    assert found.outcome is Outcome.FAILED
    assert "3.0 Gbps" in found.details[0]


@pytest.mark.parametrize(
    ("first", "then", "outcomes"),
    [
        ("6.0 Gbps", "3.0 Gbps", [Outcome.FAILED]),
        ("6.0 Gbps", "6.0 Gbps", [Outcome.PASSED]),
        ("<unknown>", "6.0 Gbps", []),
    ],
)
def test_a_sata_link_that_slows_down_fails(first: str, then: str, outcomes: list[Outcome]) -> None:
    """sata_spd before and after; where the kernel does not know, nothing is said."""
    path = "/sys/class/ata_link/link1/sata_spd"
    states = [
        link_watch.take(_context(_Host({path: f"{speed}\n"})), SATA, "sda")
        for speed in (first, then)
    ]
    assert [one.outcome for one in link_watch.slowed(*states)] == outcomes


@pytest.mark.parametrize(
    ("speed", "width", "outcome"),
    [("8.0", 4, Outcome.PASSED), ("2.5", 4, Outcome.FAILED), ("8.0", 2, Outcome.FAILED)],
)
def test_a_pcie_link_that_slows_or_narrows_fails(speed: str, width: int, outcome: Outcome) -> None:
    """Speed and lanes as sysfs writes them; counters of both ends are summed."""

    def state(gts: str, lanes: int, bad: int) -> LinkState:
        counters = f"RxErr {bad}\nBadTLP 0\nTOTAL_ERR_COR {bad}\n"
        files = {
            f"{CARD}/current_link_speed": f"{gts} GT/s PCIe\n",
            f"{CARD}/current_link_width": f"{lanes}\n",
            f"{CARD}/aer_dev_correctable": counters,
            f"{PORT}/aer_dev_correctable": counters,
        }
        return link_watch.take(_context(_Host(files)), NVME, "nvme0n1")

    before, after = state("8.0", 4, 0), state(speed, width, 3)
    assert [one.outcome for one in link_watch.slowed(before, after)] == [outcome]
    # Three at the port and three at the drive.
    assert link_watch.rise(before, after) == 6
