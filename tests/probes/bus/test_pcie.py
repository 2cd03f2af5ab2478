"""PCI Express: recorded machines give no false verdict; counters and bits are read right.

Recordings: the 35 dumps of pciutils 3.9.0's tests folder, real machines not known to be
faulty, many with sticky error bits. Names and rules: Linux 6.1 and 6.12
``drivers/pci/pcie/aer.c`` and ``Documentation/ABI/testing/sysfs-bus-pci-devices-aer_stats``.
"""

from __future__ import annotations

from collections.abc import Iterator

import msgspec
import pytest

from livecheck import knowledge
from livecheck.inventory import config_space
from livecheck.probes import Context
from livecheck.probes.bus import pcie
from livecheck.records import (
    Controller,
    Device,
    Inventory,
    Outcome,
    Part,
    PciFacts,
    Place,
    Presence,
    Reading,
)
from tests.inventory.fake_host import FakeHost
from tests.inventory.test_config_space import _configs, _dumps


def _end(name: str, found: config_space.Function) -> pcie.LinkEnd:
    link, errors = found.link, found.errors
    return pcie.LinkEnd(
        name=name,
        speed_gts=link.speed_gts if link else None,
        width=link.width if link else None,
        max_speed_gts=link.max_speed_gts if link else None,
        max_width=link.max_width if link else None,
        device_status=found.device_status,
        correctable=errors.correctable if errors else None,
        uncorrectable=errors.uncorrectable if errors else None,
    )


def _links() -> Iterator[tuple[str, pcie.LinkEnd, pcie.LinkEnd]]:
    """Every function of every dump with the port above it; alone, it stands for both ends."""
    for path in _dumps():
        functions = {
            address: found
            for address, config in _configs(path).items()
            if (found := config_space.decode(config)) is not None and found.link is not None
        }
        by_bus = {f.secondary_bus: a for a, f in functions.items() if f.secondary_bus}
        for address, found in functions.items():
            bus = int(address.split(":")[-2], 16)
            above = by_bus.get(bus, address)
            yield f"{path.name} {address}", _end(above, functions[above]), _end(address, found)


def test_recorded_machines_get_no_false_verdict() -> None:
    """Sticky bits and slow links on sound machines fail no check."""
    links = list(_links())
    assert len(links) > 40
    told = 0
    for name, near, far in links:
        findings = pcie.judge_link(near, far)
        failed = [one for one in findings if one.outcome is Outcome.FAILED]
        assert failed == [], name
        told += any("set at some time" in detail for one in findings for detail in one.details)
    # Bits are on record and are told: the corpus would prove nothing without any.
    assert told >= 5


CODE = "RxErr 2\nBadTLP 0\nBadDLLP 3\nRollover 0\nTimeout 1\nNonFatalErr 7\nTOTAL_ERR_COR 13\n"
ABI = "Receiver Error 2\nBad TLP 0\nBad DLLP 3\nRELAY_NUM Rollover 0\nReplay Timer Timeout 1\n"


@pytest.mark.parametrize("raw", [CODE, ABI])
def test_counters_in_both_spellings(raw: str) -> None:
    """The kernel prints other names than its documentation shows: both count six link errors."""
    counters = pcie.parse_counters(raw)
    assert sum(n for name, n in counters.items() if name in pcie.LINK_ERRORS) == 6
    assert not any(name.startswith("TOTAL") for name in counters)


def _run(port_counts: str | None, card_counts: str | None) -> dict[str, Reading]:
    folder = "/sys/devices/pci0000:00/0000:00:1c.0"
    card = f"{folder}/0000:01:00.0"
    facts = PciFacts(link_speed_gts=8.0, link_width=4, link_max_speed_gts=8.0, link_max_width=4)
    inventory = Inventory(
        controllers=(Controller(id="pci:0000:00:1c.0", kind="pcie-root-port", name="port"),),
        places=(
            Place(
                id="slot:0000:00:1c.0",
                kind="pcie-slot",
                name="slot 1",
                controller="pci:0000:00:1c.0",
                presence=Presence.SEEN,
            ),
            Place(
                id="slot:0000:00:1d.0",
                kind="pcie-slot",
                name="slot 2",
                presence=Presence.NOTHING_ANSWERS,
            ),
            Place(id="slot:0000:00:1e.0", kind="pcie-slot", name="slot 3", presence=Presence.EMPTY),
        ),
        parts=(Part(id="drive:N1", kind="drive", name="drive", place="slot:0000:00:1c.0"),),
        devices=(
            Device(
                subsystem="pci",
                name="0000:00:1c.0",
                path=folder,
                component="pci:0000:00:1c.0",
                facts=facts,
            ),
            Device(
                subsystem="pci",
                name="0000:01:00.0",
                path=card,
                component="drive:N1",
                facts=msgspec.structs.replace(facts, above="0000:00:1c.0"),
            ),
        ),
    )
    files = {}
    if port_counts is not None:
        files[f"{folder}/aer_dev_correctable"] = port_counts
    if card_counts is not None:
        files[f"{card}/aer_dev_correctable"] = card_counts
    context = Context(
        host=FakeHost(files), inventory=inventory, events=(), knowledge=knowledge.load()
    )
    readings = [one for one in pcie.probe(context) if isinstance(one, Reading)]
    return {f"{one.check} {one.at}": one for one in readings}


def test_errors_counted_at_the_port_are_read_at_the_part() -> None:
    """The endpoint may read zeros while its port counts: never a verdict on the port alone."""
    found = _run("RxErr 40\nTOTAL_ERR_COR 40\n", "RxErr 0\nTOTAL_ERR_COR 0\n")
    reading = found["pcie.errors drive:N1"]
    assert (reading.outcome, reading.value) == (Outcome.FAILED, 40)
    assert not any(key.endswith("pci:0000:00:1c.0") for key in found)


def test_a_clean_link_passes_and_an_uncounted_one_is_not_judged() -> None:
    """No errors pass; a kernel that counts none leaves the check unjudged."""
    clean = _run("RxErr 0\n", "RxErr 0\n")
    assert clean["pcie.errors drive:N1"].outcome is Outcome.PASSED
    assert clean["pcie.link-speed drive:N1"].outcome is Outcome.PASSED
    assert clean["pcie.link-width drive:N1"].outcome is Outcome.PASSED
    assert _run(None, None)["pcie.errors drive:N1"].outcome is Outcome.NOT_JUDGED


def test_a_slow_link_is_a_fault_only_with_errors_beside_it() -> None:
    """Power saving slows sound links: 5 of 8 GT/s is judged once errors were counted."""
    quiet = pcie.LinkEnd(
        name="p", speed_gts=5.0, width=2, max_speed_gts=8.0, max_width=4, counted=True
    )
    noisy = msgspec.structs.replace(quiet, counters={"RxErr": 1})
    outcomes = {one.check: one.outcome for one in pcie.judge_link(quiet, quiet)}
    assert outcomes["pcie.link-speed"] is Outcome.NOT_JUDGED
    assert outcomes["pcie.link-width"] is Outcome.NOT_JUDGED
    outcomes = {one.check: one.outcome for one in pcie.judge_link(noisy, quiet)}
    assert outcomes["pcie.link-speed"] is Outcome.FAILED
    assert outcomes["pcie.link-width"] is Outcome.FAILED


def test_a_slot_that_senses_a_card_in_vain_fails_and_an_empty_one_does_not() -> None:
    """A slot that senses a card with nothing behind it fails at the slot; an empty one does not."""
    found = _run(None, None)
    assert found["pcie.answers slot:0000:00:1d.0"].outcome is Outcome.FAILED
    assert found["pcie.answers drive:N1"].outcome is Outcome.PASSED
    assert not any("slot:0000:00:1e.0" in key for key in found)


def test_a_part_gone_from_the_bus_is_told_once_and_not_passed() -> None:
    """A function whose registers read all ones (PCI Local Bus 3.0, 6.1)."""
    slot = Place(id="slot:x", kind="pcie-slot", name="slot", presence=Presence.NOTHING_ANSWERS)
    part = Part(id="drive:N1", kind="drive", name="d", place=slot.id, answers=False)
    function = Device(subsystem="pci", name="0000:02:00.0", path="/sys/d", component=part.id,
                      facts=PciFacts(answers=False))  # fmt: skip
    context = Context(
        host=FakeHost(),
        inventory=Inventory(parts=(part,), devices=(function,), places=(slot,)),
        events=(),
        knowledge=knowledge.load(),
    )
    found = [r for r in pcie.probe(context) if isinstance(r, Reading)]
    assert [(r.check, r.at, r.outcome) for r in found] == [
        ("pcie.answers", part.id, Outcome.FAILED)
    ]
