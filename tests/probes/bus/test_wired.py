"""Damaged frames: bounds from what a sound link of IEEE 802.3 may damage."""

from __future__ import annotations

import pytest

from livecheck.inventory import radio
from livecheck.probes.bus.wired import CHECK, probe
from livecheck.records import Outcome
from tests.inventory.fake_host import SYS, FakeHost, attributes, device
from tests.probes.support import context, readings, untested

NET = f"{SYS}/eth0"


def host(came: int | None, crc: int | None) -> FakeHost:
    counts = {"rx_packets": came, "rx_crc_errors": crc}
    files = attributes(NET, address="02:00:00:00:00:01", addr_assign_type=0)
    files |= attributes(f"{NET}/statistics", **{k: v for k, v in counts.items() if v is not None})
    return FakeHost(files, [device("net", "eth0")])


@pytest.mark.parametrize(
    ("came", "damaged", "outcome"),
    [
        # 1000BASE-T promises one wrong bit in 1e10 (IEEE 802.3, 40.1): one frame of 1518
        # bytes in 823,000.
        (823_000, 1, Outcome.PASSED),
        (8_230_000, 10, Outcome.PASSED),
        (1_000, 2, Outcome.PASSED),
        (1_000, 3, Outcome.FAILED),
        (8_230_000, 400, Outcome.FAILED),
    ],
)
def test_a_link_is_judged_by_the_share_of_its_frames(
    came: int, damaged: int, outcome: Outcome
) -> None:
    reading = readings(probe, context(host(came, damaged), radio.find))[CHECK]
    assert (reading.outcome, reading.value) == (outcome, damaged)


def test_a_link_without_a_cable_is_not_tested() -> None:
    given = context(host(0, 0), radio.find)
    assert not readings(probe, given)
    assert "nothing came over" in untested(probe, given)["Wired network eth0"]
    nothing = context(FakeHost({}, []), radio.find)
    assert set(untested(probe, nothing)) == {"Wired network"}


def test_counts_that_cannot_be_read_are_no_passed_check() -> None:
    given = context(host(1_000, None), radio.find)
    assert readings(probe, given)[CHECK].outcome is Outcome.NOT_JUDGED
