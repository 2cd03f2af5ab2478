"""Clocks and identities that lie: what was when, and which part is which.

Sources: SBC-4 and SPC-4 on serial numbers (page 80h may hold blanks alone); IEEE 802-2014, 8.2 (a
locally administered address may change); rtc(4) for a clock without its battery.
"""

from __future__ import annotations

from dataclasses import replace

import msgspec
import pytest

from livecheck.records import Run
from tests.hostile.outsider.support import accused, defects, located, looked
from tests.testbeds import devices, laptops
from tests.testbeds.bed import Bed, BedHost

TIMES = ("1970-01-01T00:00:00+00:00", "2038-01-19T03:14:08+00:00", "2099-12-31T23:59:59+00:00",
         "2001-01-01T00:00:00+00:00")  # fmt: skip


def _runs(*beds: Bed) -> tuple[Run, ...]:
    found = []
    for number, bed in enumerate(beds, 1):
        run = looked(BedHost(bed))
        assert defects(run) == []
        found.append(msgspec.structs.replace(run, number=number))
    return tuple(found)


def test_the_hour_of_a_run_decides_nothing() -> None:
    """H17: 1970, 2038, 2099, and back: order is that of the numbers."""
    runs = _runs(laptops.missing_card(), laptops.missing_card(), laptops.ahci())
    sane = located(*runs)
    odd = tuple(msgspec.structs.replace(run, started=when)
                for run, when in zip(runs, TIMES, strict=False))  # fmt: skip
    for some in (odd, tuple(msgspec.structs.replace(r, started=TIMES[2 - n])
                            for n, r in enumerate(runs))):  # fmt: skip
        found = located(*some)
        assert (found.sentence, found.component) == (sane.sentence, sane.component)


def _two(first: str, second: str) -> Bed:
    bed = laptops.ahci()
    one = replace(laptops.DISK, serial=first)
    other = replace(laptops.DISK, serial=second, raw={197: 40, 5: 200, 187: 9})
    nodes = tuple(node for node in bed.nodes if "/ata1" not in node.path
                  and "/ata3" not in node.path)  # fmt: skip
    nodes += (*devices.sata_port(1, one, "sda"), *devices.sata_port(3, other, "sdb"))
    return replace(bed, nodes=nodes, drives={"sda": one, "sdb": other})


SAME = ("OSV1", "", "   ", "0000000000", "\x00\xff")


@pytest.mark.parametrize("serials", [*((one, one) for one in SAME), ("OSV1", "")])
def test_two_drives_that_call_themselves_the_same(serials: tuple[str, str]) -> None:
    """H18: both are there, and the one that lost sectors is the one that is told of."""
    bed = _two(*serials)
    (run,) = _runs(bed)
    drives = [part for part in run.inventory.parts if part.kind == "drive"]
    assert len(drives) == 2
    assert len({part.id for part in drives}) == 2
    failed = {r.at for r in run.readings if r.check == "storage.medium-errors"
              and r.outcome.value == "failed"}  # fmt: skip
    places = {part.id: part.place for part in drives}
    assert {(places[one] or "").rpartition(":")[2] for one in failed} == {"3"}
    names = accused(located(run))
    assert all(one not in names for one in places if one not in failed)


def test_an_identity_that_changes_is_no_swap() -> None:
    """H19: a wireless card that draws its address anew, a soldered drive that tells another
    number each time: the same machine, and nothing was exchanged."""
    beds = []
    for mac in ("da:a1:19:00:00:01", "da:a1:19:77:00:02", "ce:12:00:88:00:03"):
        bed = laptops.ahci()
        nodes = tuple(n for n in bed.nodes if "0000:01:00.0" not in n.path)
        nodes += devices.wireless(laptops.WLAN_PORT, mac)
        assigned = tuple(replace(n, files={**n.files, "addr_assign_type": "1"})
                         if n.subsystem == "net" else n for n in nodes)  # fmt: skip
        beds.append(replace(bed, nodes=assigned))
    runs = _runs(*beds)
    found = located(*runs)
    assert found.swaps == ()
    cards = [{p.id for p in run.inventory.parts if p.kind == "wireless-card"} for run in runs]
    assert cards[0] == cards[1] == cards[2]
    assert not accused(found)


def test_two_flash_drives_that_call_themselves_the_same() -> None:
    """H18: on PCI Express each, of one serial number."""
    bed = laptops.nvme()
    again = tuple(
        replace(n, path=n.path.replace("0000:00:1d.0/0000:02", "0000:00:1c.4/0000:05")
                .replace("nvme0", "nvme1"))
        for n in devices.nvme(laptops.DRIVE_PORT, laptops.NVME)
    )  # fmt: skip
    port = devices.root_port("0000:00:1c.4", 5, 7, True, (8.0, 4))
    (run,) = _runs(replace(bed, nodes=(*bed.nodes, port, *again)))
    drives = [part for part in run.inventory.parts if part.kind == "drive"]
    assert len({(part.id, part.place) for part in drives}) == 2
