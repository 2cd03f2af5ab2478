"""Twins, strangers and impossible figures among devices.

Sources: Linux Documentation/input/uinput.rst, Documentation/hwmon/sysfs-interface.rst,
Documentation/ABI/testing/sysfs-class-power, Documentation/admin-guide/nvme-multipath.rst; USB 2.0,
9.5 and 9.6 (lengths of descriptors); PCI Express Base 4.0, 2.3.2 (ones where nobody answers);
E-EDID release A2, 2.2.1 (count of extensions); clock_gettime(2).
"""

from __future__ import annotations

import json
import random
import time
from collections.abc import Sequence
from dataclasses import replace
from pathlib import Path
from typing import Final

import pytest

from livecheck.records import encode
from tests.hostile import drives
from tests.hostile.drives import CAPTURE, command
from tests.hostile.newcomer.test_drive import raw
from tests.hostile.outsider.support import (
    accused,
    defects,
    located,
    looked,
    of,
    outcomes,
    run_of,
    with_files,
    with_nodes,
)
from tests.inventory import edid_builder
from tests.testbeds import laptops
from tests.testbeds.bed import Bed, BedHost, Node
from tests.testbeds.devices import ROOT

KEYS: Final = "402000007 ff803078f800d001 feffffdfffefffff fffffffffffffffe"
"""Keys of a laptop's keyboard, as the kernel writes such a mask."""


@pytest.mark.parametrize("mask", [KEYS, "0", "ffffffffffffffff " * 12])
def test_twins_of_keyboard_and_lid(mask: str) -> None:
    """H12: what a program made stands below /sys/devices/virtual and is nobody's part."""
    plain = {(p.kind, p.id) for p in run_of(laptops.ahci()).inventory.parts}
    nodes = []
    for n, name in enumerate(("AT Translated Set 2 keyboard", "Lid Switch", "Power Button",
                              "Synaptics TM3276", "Video Bus")):  # fmt: skip
        files = {"name": name, "phys": "", "capabilities/ev": "120013", "capabilities/key": mask,
                 "capabilities/sw": "1", "id/bustype": "0011"}  # fmt: skip
        path = f"/sys/devices/virtual/input/input{40 + n}"
        nodes.append(Node("input", path, files, {"NAME": f'"{name}"', "KEY": mask}))
    run = run_of(with_nodes(laptops.ahci(), *nodes))
    assert {(p.kind, p.id) for p in run.inventory.parts} == plain
    assert not accused(located(run))


CHIPS: Final = ("coretemp", "BAT0", "nvme", "drivetemp", "acpitz", "thinkpad", "AC", "x" * 999)


@pytest.mark.parametrize("milli", ["0", "127000", "-40000", "105000000", "255500"])
def test_chips_that_share_a_name(milli: str) -> None:
    """H13: beside the sound one, whose reading still stands."""
    nodes = []
    for n, name in enumerate(CHIPS):
        files = {"name": name, "temp1_input": milli, "temp1_label": "Package id 0",
                 "temp1_crit": "100000", "temp2_input": milli}  # fmt: skip
        nodes.append(Node("hwmon", f"/sys/devices/virtual/hwmon/hwmon{n + 20}", files))
    run = run_of(with_nodes(laptops.ahci(), *nodes))
    assert not accused(located(run))
    assert outcomes(run, "heat.temperature") >= outcomes(run_of(laptops.ahci()), "heat.temperature")


class FallenOff(BedHost):
    """After so many looks at it a function of PCI reads as ones."""

    def __init__(self, bed: Bed, address: str, after: int) -> None:
        super().__init__(bed)
        self._at, self._left = f"/{address}/config", after

    def read(self, path: str) -> bytes:
        found = super().read(path)
        if path.endswith(self._at):
            self._left -= 1
            return found if self._left >= 0 else b"\xff" * len(found)
        return found


@pytest.mark.parametrize("address", ["0000:00:1d.0", "0000:02:00.0", "0000:01:00.0"])
@pytest.mark.parametrize("after", range(6))
def test_a_function_that_falls_off_its_link(after: int, address: str) -> None:
    """H14: ones are no link that runs at its width, and no proof of a unit either."""
    run = looked(FallenOff(laptops.nvme(), address, after))
    assert defects(run) == []
    assert all(chance < 0.9 for chance in accused(located(run)).values())
    details = " ".join(r.says for r in run.readings if r.check.startswith("pcie."))
    assert "x63" not in details and "x31" not in details


USB: Final[tuple[dict[str, str | bytes], ...]] = (
    {"descriptors": bytes([0, 1]) + bytes(16)},
    {"descriptors": b"\x12\x01\x00\x02" + b"\xff" * 65532},
    {"descriptors": random.Random(5).randbytes(1 << 16)},
    {"bos_descriptors": b"\x05\x0f\xff\xff\xff" + b"\x00" * 65531},
    {"bos_descriptors": b"\x05\x0f\x16\x00\x02" + b"\x00\x10\x03\x00" * 9},
    {"bMaxPower": "65535mA", "bNumInterfaces": "255", "bNumConfigurations": "255"},
    {"bMaxPower": "-500mA", "version": "99.99", "maxchild": "9999"},
    {"speed": "1.5e9", "rx_lanes": "99", "tx_lanes": "-1"},
    {"speed": "0"}, {"speed": "-480"}, {"speed": "unknown"}, {"speed": "80000"},
    {"devnum": "0", "devpath": "9" * 500, "busnum": "-1"},
)  # fmt: skip


@pytest.mark.parametrize("files", USB, ids=range(len(USB)))
def test_descriptors_of_impossible_lengths(files: dict[str, str | bytes]) -> None:
    """H15: in every device of USB, hub and camera alike."""
    run = run_of(with_files(laptops.ahci(), of("usb"), **files))
    assert not accused(located(run))


def _connector(card: int, name: str, **files: str | bytes) -> Node:
    path = f"{ROOT}/0000:00:02.0/drm/card{card}/card{card}-{name}"
    return Node("drm", path, {"status": "connected", "enabled": "enabled", **files})


PANEL: Final = edid_builder.panel()
MANY: Final = edid_builder.sealed(PANEL[:126] + b"\xff\x00")
EDIDS: Final[dict[str, bytes | None]] = {
    "none": None, "empty": b"", "32 KiB": MANY + edid_builder.extension() * 255,
    "32 KiB of ones": MANY + b"\xff" * (255 * 128), "255 announced": MANY,
    "blocks that announce more": MANY + MANY * 255, "64 KiB": PANEL * 512,
}  # fmt: skip


@pytest.mark.parametrize("sort", EDIDS)
def test_connectors_and_their_edid(sort: str) -> None:
    """H16: what is not read is not the panel's fault."""
    data = EDIDS[sort]
    files = {} if data is None else {"edid": data}
    nodes = [_connector(0, name, **files) for name in ("eDP-1", "DP-1", "HDMI-A-1")]
    begun = time.process_time()
    run = run_of(with_nodes(laptops.ahci(), Node("drm", f"{ROOT}/0000:00:02.0/drm/card0"), *nodes))
    assert time.process_time() - begun < 10
    assert not accused(located(run))
    assert sum(p.kind == "panel" for p in run.inventory.parts) == 1


def test_one_connectors_name_on_two_cards() -> None:
    """H16: two graphics chips number their own; the panel hangs on one of them."""
    cards = [Node("drm", f"{ROOT}/0000:00:02.0/drm/card{n}") for n in range(2)]
    for second in ("connected", "disconnected", "unknown"):
        nodes = (_connector(0, "eDP-1", edid=PANEL), _connector(1, "eDP-1", status=second))
        for order in (nodes, nodes[::-1]):
            run = run_of(with_nodes(laptops.ahci(), *cards, *order))
            panels = [p for p in run.inventory.parts if p.kind == "panel"]
            assert [p.serial for p in panels if p.serial] == ["SN-0815"]
            assert not accused(located(run))


SIGNS: Final = ("{}%", "{} V", "{} Wh", "~{}", "<{}", "{},5", "{}.0", "{} ", "{}\u00a0%", "{}e0",
                "{}/100")  # fmt: skip


@pytest.mark.parametrize("sign", SIGNS)
@pytest.mark.parametrize("name", ["ahci", "nvme"])
def test_figures_with_a_unit_or_a_sign(name: str, sign: str) -> None:
    """H17: the class gives bare numbers; others are not read at a guess."""
    bed, kept = laptops.ALL[name](), ("type", "present", "online", "model_name", "serial_number")
    nodes = []
    for node in bed.nodes:
        odd = {k: sign.format(v) for k, v in node.files.items()
               if k not in kept and isinstance(v, str) and v.isdigit()}  # fmt: skip
        power = node.subsystem == "power_supply"
        nodes.append(replace(node, files={**node.files, **odd}) if power else node)
    run = run_of(replace(bed, nodes=tuple(nodes)))
    assert not accused(located(run))
    if sign != "{} ":
        assert not outcomes(run, "power.battery-wear") & {"passed", "failed"}


def test_a_flash_drive_with_two_ways() -> None:
    """H18: with multipath its block device hangs on no controller."""
    bed = laptops.nvme()
    head = "/sys/devices/virtual/nvme-subsystem/nvme-subsys0"
    nodes = []
    for node in bed.nodes:
        if node.name == "nvme0n1":
            nodes += [replace(node, path=f"{head}/nvme0n1"),
                      replace(node, path=node.path.replace("nvme0n1", "nvme0c0n1"),
                              files={**node.files, "hidden": "1"},
                              properties={"DEVTYPE": "disk"}, node=False)]  # fmt: skip
        else:
            nodes.append(node)
    nodes.append(Node("nvme-subsystem", head, {"nvme0/state": "live", "model": "x"}))
    run = run_of(replace(bed, nodes=tuple(nodes)))
    (drive,) = (p for p in run.inventory.parts if p.kind == "drive")
    assert drive.block == "nvme0n1"
    assert drive.size_bytes == laptops.NVME.size
    assert not accused(located(run))
    assert outcomes(run, "storage.health") == {"passed"}


NAMES: Final = (("BAT0", "AC"), ("CON", "nul"), ("..x", "a b"), ("BAT0=", "AC:1"), ("0", "1"))


@pytest.mark.parametrize("names", NAMES)
def test_supplies_by_each_others_name(names: tuple[str, str]) -> None:
    """H19: the type tells which is which."""
    now = {"AC": names[0], "BAT0": names[1]}
    nodes = tuple(
        replace(n, path=f"{n.path.rpartition('/')[0]}/{now[n.name]}") if n.name in now else n
        for n in laptops.ahci().nodes
    )
    run = run_of(replace(laptops.ahci(), nodes=nodes))
    kinds = {p.kind: p.place for p in run.inventory.parts if p.kind in ("battery", "adapter")}
    assert kinds == {"battery": f"bay:{names[1]}", "adapter": f"jack:{names[0]}"}
    assert outcomes(run, "power.battery-wear") == outcomes(
        run_of(laptops.ahci()), "power.battery-wear"
    )
    assert not accused(located(run))


SERIALS: Final = ("A=B", "=A", "A@slot:1", "A:B:C", "A/B", "A,B", "A#B", "A  B", "A'B\"C",
                  "--json", "$(x)", "A\\B", "A;B|C&D")  # fmt: skip


@pytest.mark.parametrize("serial", SERIALS)
def test_serials_of_the_command_lines_own_signs(
    serial: str, tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    """H20: what the tree prints can be typed back."""
    monkeypatch.setenv("XDG_CACHE_HOME", str(tmp_path / "cache"))
    case = drives.first(drives.drive(tmp_path / "drive"))
    part = f"drive:{serial}"
    text = json.dumps(raw(case.run_file(1)))
    record = json.loads(text)
    own = next(p for p in record["inventory"]["parts"] if p["kind"] == "drive")
    record = json.loads(text.replace(json.dumps(own["id"]), json.dumps(part)))
    for row in record["inventory"]["parts"]:
        if row["id"] == part:
            row |= {"serial": serial, "identity": f"serial:{serial}"}
    case.run_file(1).write_text(json.dumps(record))
    status, _, err = command(
        "run", "--from", str(CAPTURE), "--probes", "power", "--ticket", "T-0", "--same-machine",
        "--shop", str(case.path.parent.parent), f"--answer={part}=repaired",
    )  # fmt: skip
    assert status in (0, 2), err
    if status == 0:
        told = raw(case.run_file(2))["answers"]
        assert [one.get("component") for one in told] == [part]
    for words in (("tree", str(case.path)), ("locate", str(case.path)), ("report", str(case.path)),
                  ("outcome", str(case.path), f"--unit={part}", "--proved", "yes")):  # fmt: skip
        status, _, err = command(*words)
        assert status == 0, (words, err)
    written = sorted(case.path.glob("outcomes/*/outcome.json"))[-1]
    assert raw(written)["component"] == part


class Leaping(BedHost):
    """A machine that slept between two looks, or whose clock was set."""

    def __init__(self, bed: Bed, leaps: Sequence[float]) -> None:
        super().__init__(bed)
        self._leaps, self._looks = leaps, 0

    def clock(self) -> float:
        self._looks += 1
        return 1e5 + self._leaps[self._looks % len(self._leaps)]


LEAPS: Final = ((0.0, 86400.0), (0.0, -86400.0), (0.0, 1e12, -1e12), (float("1e300"), 0.0))


@pytest.mark.parametrize("leaps", LEAPS, ids=range(len(LEAPS)))
@pytest.mark.parametrize("name", laptops.ALL)
def test_a_clock_that_leaps_within_a_run(name: str, leaps: tuple[float, ...]) -> None:
    """H21: no time is negative, and nothing is slow by it."""
    run = looked(Leaping(laptops.ALL[name](), leaps))
    assert defects(run) == []
    assert (run.seconds or 0) >= 0
    assert all(p.seconds >= 0 for p in run.probes)
    usual = accused(located(looked(BedHost(laptops.ALL[name]()))))
    assert set(accused(located(run))) <= set(usual)
    json.loads(encode(run), parse_constant=lambda word: pytest.fail(word))
