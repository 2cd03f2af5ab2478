"""Dumb buffers on a card made of a file: what is asked, what is mapped, what is given back.

Sizes and numbers are spelt out as the kernel's headers have them (uapi/drm/drm.h, drm_mode.h).
No display device was at hand: that a driver answers so is taken from its documentation.
"""

from __future__ import annotations

import errno
import fcntl
import os
import struct
from collections.abc import Sequence
from pathlib import Path

import msgspec
import pytest

from livecheck.native import dumb, engine
from livecheck.native.messages import Pass
from livecheck.native.region import Region
from livecheck.probes import Context
from livecheck.probes.display import memory
from livecheck.records import Device, Inventory, Outcome
from tests.inventory.fake_host import FakeHost, device
from tests.probes.support import context, readings, untested

CARD = "/sys/devices/pci0000:00/0000:00:02.0/drm/card0"
DROP, CREATE, MAP, DESTROY = 0x641F, 0xC02064B2, 0xC01064B3, 0xC00464B4


class Card:
    """Answers the four requests over a file; gives so many buffers."""

    def __init__(self, folder: Path, buffers: int) -> None:
        self.node = folder / "card0"
        self.node.write_bytes(bytes(buffers << 24))
        self._buffers = buffers
        self.given: set[int] = set()
        self.dropped = False

    def ioctl(self, descriptor: int, request: int, argument: bytearray | int = 0) -> int:
        if request == DROP:
            self.dropped = True
        elif request == CREATE:
            assert isinstance(argument, bytearray) and len(argument) == 32
            height, width, bits, flags = struct.unpack_from("@IIII", argument)
            assert (width, bits, flags) == (2048, 32, 0)
            handle = len(self.given) + 1
            if handle > self._buffers:
                raise OSError(errno.ENOMEM, os.strerror(errno.ENOMEM))
            self.given.add(handle)
            struct.pack_into("@IIQ", argument, 16, handle, width * 4, height * width * 4)
        elif request == MAP:
            assert isinstance(argument, bytearray) and len(argument) == 16
            (handle,) = struct.unpack_from("@I", argument)
            struct.pack_into("@Q", argument, 8, (handle - 1) << 24)
        else:
            assert request == DESTROY and isinstance(argument, bytearray) and len(argument) == 4
            self.given.remove(struct.unpack("@I", argument)[0])
        return 0


@pytest.fixture
def card(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> Card:
    made = Card(tmp_path, 2)
    monkeypatch.setattr(fcntl, "ioctl", made.ioctl)
    return made


def test_as_much_as_the_driver_gives_is_held_and_given_back(card: Card) -> None:
    with dumb.held(str(card.node), 1 << 30) as region:
        assert len(region) == 2 << 24 and card.given == {1, 2} and card.dropped
        assert "Cannot allocate memory" in (region.refusal or "")
    assert card.given == set()


def test_a_sound_memory_passes_and_says_what_was_not_reached(card: Card) -> None:
    (found,) = readings(memory.probe, _given(card)).values()
    assert found.outcome is Outcome.PASSED and found.at == "pci:0000:00:02.0"
    assert "32 MiB" in found.says and "not reached" in found.details[0]


def test_a_stuck_bit_is_found_with_its_address(card: Card, monkeypatch: pytest.MonkeyPatch) -> None:
    """Bit 5 of the word at byte 0x1234560 reads as 0 whatever was written there."""
    _stick(monkeypatch, 0x123_4560)
    (found,) = readings(memory.probe, _given(card)).values()
    assert found.outcome is Outcome.FAILED
    assert any("byte 0x1234560 (buffer 1): bits 0x0000000000000020" in d for d in found.details)


def _stick(monkeypatch: pytest.MonkeyPatch, where: int) -> None:
    """Clear a bit of the second buffer each time an element has gone over it."""
    real = engine.run_pass

    def run_pass(
        region: Region, todo: Pass, cpus: Sequence[int], tally: engine.Tally, watch: engine.Watch
    ) -> bool:
        def seen(now: engine.Tally) -> bool:
            region.blocks[1].memory[where - (1 << 24)] &= 0xFF ^ 0x20
            return watch(now)

        return real(region, todo, cpus, tally, seen)

    monkeypatch.setattr(engine, "run_pass", run_pass)


def _given(card: Card) -> Context:
    listed = [device("drm", "card0", CARD, DEVNAME=str(card.node))]
    made = context(FakeHost({}, listed))
    chip = Device(subsystem="pci", name="0000:00:02.0", path=CARD.rpartition("/drm")[0],
                  component="pci:0000:00:02.0")  # fmt: skip
    return msgspec.structs.replace(made, inventory=Inventory(devices=(chip,)))


def test_without_a_card_it_is_not_tested_and_a_refused_one_is_not_judged(tmp_path: Path) -> None:
    assert memory.WHAT in untested(memory.probe, context(FakeHost()))
    gone = [device("drm", "card0", CARD, DEVNAME=str(tmp_path / "none"))]
    (found,) = readings(memory.probe, context(FakeHost({}, gone))).values()
    assert found.outcome is Outcome.NOT_JUDGED and found.at == "machine"
