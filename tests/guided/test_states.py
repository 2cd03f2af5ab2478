"""States of a wireless card that look alike to its owner, told apart by a real kernel (``--boot``).

One virtual laptop with a card in a slot the firmware gives wireless cards, and a simulated
radio (mac80211_hwsim). What each state is, is the kernel's doing: its switches
(Documentation/driver-api/rfkill.rst), its unbinding and its removal of a function
(Documentation/ABI/testing/sysfs-bus-pci); that a hard block is held and that a firmware
file is missing is put into its mouth. See ``test_boot.py`` for the environment.
"""

from __future__ import annotations

import json
from collections.abc import Iterator
from pathlib import Path
from typing import Any, Final

import pytest

from livecheck.diagnosis.steps.actions import Action

pytest.importorskip("qemu.qmp", reason="qemu.qmp is not installed")
from tests.guided.guest import Shell
from tests.virtual_laptop import smbios
from tests.virtual_laptop.command import NATIVE_HOTPLUG, root_ports
from tests.virtual_laptop.laptop import ROOT_PORTS

pytestmark = pytest.mark.boot
ADDRESS: Final = "02:5e:10:20:30:40"
SIMULATED: Final = "02:00:00:00:00:00"
SLOT: Final = f"slot:{ROOT_PORTS[1]}"
FUNCTION: Final = "0000:02:00.0"
FUNCTIONS: Final = "/sys/bus/pci/devices"
LOOK: Final = (
    "rm -rf /tmp/shop; mkdir -p /tmp/shop; python3 -m livecheck run --complaint part-missing "
    "--probes wireless,pcie,kernel --shop /tmp/shop --json > /tmp/said 2> /tmp/heard; "
    "cat /tmp/said | tr -d '\\n'; echo"
)

LOOKS: Final = 3


def _devices(folder: Path) -> list[str]:
    """A card in the second slot, and the firmware's table of slots."""
    board = [*NATIVE_HOTPLUG, *smbios.given(folder, smbios.slots()), *root_ports()]
    return [*board, "-device", "e1000e,id=radio,bus=rp1,mac=02:00:5e:00:00:11"]


@pytest.fixture(scope="module")
def shell(image: Path, tmp_path_factory: pytest.TempPathFactory) -> Iterator[Shell]:
    folder = tmp_path_factory.mktemp("states")
    guest = Shell(image, folder, _devices(folder), "pcie_ports=native")
    try:
        guest.ready()
        # The simulation's own address is one that drivers give a card without any.
        guest.run("modprobe mac80211_hwsim radios=1 && sleep 3 && "
                  f"ip link set dev wlan0 address {ADDRESS}")  # fmt: skip
        yield guest
    finally:
        guest.close()


class Told:
    """One run: its readings at a part or place, and the verdict.

    On a crowded machine a probe may not come to its end in time: then there is another look.
    """

    def __init__(self, shell: Shell) -> None:
        for _ in range(LOOKS):
            said = shell.run(LOOK, 600)
            whole: Any = json.loads(said[said.index("{") :])
            run = json.loads(shell.run(f"cat {whole['run_file']} | tr -d '\\n'; echo"))
            late = [p for p in run["probes"] if p["ended"] == "did not answer"]
            if not late:
                break
        assert late == []
        self.verdict = whole["location"]
        self.readings = run["readings"]
        self.card = next(
            (p["id"] for p in run["inventory"]["parts"] if p["place"] == SLOT), f"nothing in {SLOT}"
        )

    def outcomes(self, at: str) -> dict[str, str]:
        return {r["check"]: r["outcome"] for r in self.readings if r["at"] == at}

    def failed(self) -> set[tuple[str, str]]:
        return {(r["check"], r["at"]) for r in self.readings if r["outcome"] == "failed"}

    def step(self) -> tuple[str, str]:
        return self.verdict["next_step"]["action"], self.verdict["next_step"]["target"]


RADIO: Final = f"wireless-card:{SIMULATED}"
CARD: Final = f"wireless-card@{SLOT}"


def _switch(shell: Shell) -> str:
    return shell.run("grep -l phy0 /sys/class/rfkill/*/name").strip().removesuffix("/name")


def test_nothing_is_wrong(shell: Shell) -> None:
    """The card is one by its slot, though it calls itself an Ethernet controller."""
    told = Told(shell)
    assert told.failed() == set()
    assert told.outcomes(told.card)["wireless.present"] == "passed"
    assert told.outcomes(RADIO)["wireless.radio"] == "passed"


def test_blocked_by_software(shell: Shell) -> None:
    switch = _switch(shell)
    shell.run(f"echo 1 > {switch}/soft")
    told = Told(shell)
    shell.run(f"echo 0 > {switch}/soft")
    assert told.failed() == {("wireless.soft-block", RADIO)}
    assert told.verdict["side"] not in ("device", "controller")
    assert told.step() == (Action.SETTING, RADIO)
    assert "software" in told.verdict["next_step"]["why"]


def test_blocked_by_hardware(shell: Shell) -> None:
    """No switch of the simulation can be held: the file the kernel tells it by is covered."""
    switch = _switch(shell)
    shell.run(f"echo 1 > /tmp/held; mount --bind /tmp/held {switch}/hard")
    told = Told(shell)
    shell.run(f"umount {switch}/hard")
    assert told.failed() == {("wireless.blocked", RADIO)}
    assert told.verdict["side"] not in ("device", "controller")
    assert told.step() == (Action.SETTING, RADIO)
    assert "slider" in told.verdict["next_step"]["why"]


def test_function_without_driver(shell: Shell) -> None:
    """Not the card's fault, and not tested: the stick's kernel has to know it."""
    shell.run(f"echo {FUNCTION} > /sys/bus/pci/drivers/e1000e/unbind")
    told = Told(shell)
    shell.run(f"echo {FUNCTION} > /sys/bus/pci/drivers/e1000e/bind; sleep 3")
    assert told.failed() == set()
    assert told.outcomes(told.card)["wireless.driver"] == "not judged"
    assert told.verdict["side"] not in ("device", "controller")
    assert told.step() == (Action.ENABLE, told.card)
    assert "no driver" in told.verdict["next_step"]["why"]


def test_function_missing_with_presence(shell: Shell) -> None:
    """The slot senses a card and none answers: card, contact and slot are open, and are tried."""
    shell.run(f"echo 1 > {FUNCTIONS}/{FUNCTION}/remove")
    told = Told(shell)
    shell.run("echo 1 > /sys/bus/pci/rescan; sleep 4")
    assert told.failed() == {("pcie.answers", SLOT)}
    assert told.verdict["side"] == "undetermined"
    open_ones = {c["component"] for c in told.verdict["candidates"][:3]}
    assert open_ones == {CARD, SLOT, f"contact:{SLOT}"}
    action, target = told.step()
    assert (action, target) in ((Action.RESEAT, SLOT), (Action.SWAP, CARD))
    back = Told(shell)
    assert back.outcomes(back.card)["pcie.answers"] == "passed"


def test_firmware_missing(shell: Shell) -> None:
    """Last of all: what is in the kernel's log stays there.

    A driver that only holds the function, and the line a wireless driver's request leaves
    (drivers/base/firmware_loader/main.c). What a program writes to the log has another facility
    than the kernel's, so a copy of the log that holds the line stands in its place.
    """
    shell.run(f"echo {FUNCTION} > /sys/bus/pci/drivers/e1000e/unbind; modprobe pci-stub; "
              f"echo pci-stub > {FUNCTIONS}/{FUNCTION}/driver_override; "
              f"echo {FUNCTION} > /sys/bus/pci/drivers/pci-stub/bind; "
              f"echo '4,999999,999999999,-;iwlwifi {FUNCTION}: Direct firmware load for "
              "radio-7.ucode failed with error -2' > /tmp/kmsg; "
              "dd if=/dev/kmsg iflag=nonblock bs=8192 >> /tmp/kmsg; "
              "mount --bind /tmp/kmsg /dev/kmsg")  # fmt: skip
    told = Told(shell)
    assert told.failed() == set()
    assert told.outcomes(told.card)["wireless.firmware"] == "not judged"
    assert told.verdict["side"] not in ("device", "controller")
    assert told.step() == (Action.ENABLE, told.card)
    assert "radio-7.ucode" in told.verdict["next_step"]["why"]
