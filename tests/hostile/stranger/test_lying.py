"""Machines whose answers change, carry names of nothing, or write numbers as no kernel does.

Sources: Linux Documentation/filesystems/sysfs.rst (contents are made at each open) and
Documentation/ABI/testing/sysfs-class-power; errno(3); SMBIOS 3.7, 6.1.3 and 7.18; E-EDID release
A2, 3.10.3 (a descriptor's text ends with 0Ah); RFC 8259, 4, 6 and 8.1.
"""

from __future__ import annotations

import errno
import json
from collections import Counter
from collections.abc import Sequence
from dataclasses import replace
from pathlib import Path
from typing import Any, Final

import msgspec
import pytest

from livecheck.casefile import Shop
from livecheck.host import CommandResult
from livecheck.inventory import edid
from livecheck.records import Complaint, Outcome, Part, Reading, Run, encode
from livecheck.wording import clean
from tests.hostile.outsider.support import (
    Broken,
    accused,
    defects,
    located,
    looked,
    of,
    outcomes,
    run_of,
    with_files,
)
from tests.inventory import edid_builder
from tests.inventory import smbios_builder as smbios
from tests.testbeds import devices, laptops
from tests.testbeds.bed import Bed, BedHost, Content, Node

DMI: Final = "/sys/firmware/dmi/tables"
STEERING: Final = set(map(chr, (*range(32), *range(0x7F, 0xA0), 0x202E, 0x2066)))


USUAL: Final[dict[str, set[str]]] = {
    "ahci": set(), "nvme": set(), "missing-card": {"wireless-card@slot:0000:00:1c.0"},
}  # fmt: skip
"""Whom the laptop as it is accuses: the card that does not answer."""


def _run(bed: Bed, number: int = 1) -> Run:
    return msgspec.structs.replace(run_of(bed), number=number)


class Fickle(BedHost):
    """Each file has another answer at each look."""

    def __init__(self, bed: Bed, answers: tuple[bytes | None, ...], first: int) -> None:
        super().__init__(bed)
        self._answers, self._first = answers, first
        self._looks: Counter[str] = Counter()

    def read(self, path: str) -> bytes:
        own = super().read(path)
        self._looks[path] += 1
        turn = (self._first + self._looks[path] - 1) % len(self._answers)
        found = self._answers[turn]
        return own if found is None else found


FICKLE: Final[tuple[tuple[bytes | None, ...], ...]] = (
    (None, b"x\n", b""),
    (None, b"0\n", b"-1\n"),
    (None, b"", b"9" * 5000),
)


@pytest.mark.parametrize("answers", FICKLE)
@pytest.mark.parametrize("first", range(3))
@pytest.mark.parametrize("name", laptops.ALL)
def test_another_answer_at_each_look(
    name: str, first: int, answers: tuple[bytes | None, ...]
) -> None:
    """H01: a number, then text, then nothing, whichever of them comes first."""
    run = looked(Fickle(laptops.ALL[name](), answers, first))
    assert defects(run) == []
    json.loads(encode(run))
    assert set(accused(located(run))) <= USUAL[name]


@pytest.mark.parametrize(
    "number",
    [errno.EISDIR, errno.ENOTDIR, errno.ELOOP, errno.EOVERFLOW, errno.EINTR, errno.ETIMEDOUT],
)
@pytest.mark.parametrize("name", laptops.ALL)
def test_errors_that_files_seldom_give(name: str, number: int) -> None:
    """H02: nothing was read, so nothing passes by a file and nobody is at fault."""
    run = looked(Broken(replace(laptops.ALL[name](), drives={}), {}, number))
    assert defects(run) == []
    assert set(accused(located(run))) <= USUAL[name]
    assert {r.check for r in run.readings
            if r.outcome is Outcome.PASSED and r.source.startswith("/sys")} == set()  # fmt: skip


def _renamed(bed: Bed, was: str, now: str) -> Bed:
    nodes = tuple(replace(n, path=n.path[: -len(was)] + now) if n.name == was else n
                  for n in bed.nodes)  # fmt: skip
    return replace(bed, nodes=nodes)


@pytest.mark.xfail(reason="a bay is known by the name of its driver alone", strict=True)
@pytest.mark.parametrize("serial", ["0417", "", " "])
def test_a_battery_by_another_name(serial: str) -> None:
    """H03: the kernel's name is no identity and no place."""
    bed = with_files(laptops.ahci(), of("power_supply", "BAT0"), serial_number=serial)
    runs = (_run(bed), _run(_renamed(bed, "BAT0", "BAT1"), 2))
    found = located(*runs)
    ids = {p.id for run in runs for p in run.inventory.parts if p.kind == "battery"}
    assert len(ids) == 1
    assert found.swaps == ()
    assert not accused(found)
    assert {p.place for run in runs for p in run.inventory.parts if p.kind == "battery"} == {
        next(p.place for p in runs[0].inventory.parts if p.kind == "battery")
    }


def _with_memory(*modules: bytes) -> Bed:
    table = b"".join((smbios.firmware(), smbios.system(smbios.UUID, "S"), smbios.board(),
                      smbios.chassis(), smbios.array(), *modules,
                      smbios.array_range(0, (16 << 20) - 1), smbios.end()))  # fmt: skip
    extra: dict[str, Content] = {
        f"{DMI}/DMI": table, f"{DMI}/smbios_entry_point": smbios.entry_point_64(table),
        "/proc/meminfo": "MemTotal:        16000000 kB\n",
    }  # fmt: skip
    bed = laptops.ahci()
    return replace(bed, extra={**bed.extra, **extra})


def _modules(run: Run) -> list[Part]:
    return [p for p in run.inventory.parts if p.kind == "memory-module"]


@pytest.mark.parametrize("banks", [("BANK 0", "BANK 1"), ("BANK 0", "BANK 0"), (" ", " ")])
@pytest.mark.parametrize("serials", [("4A1B2C3D", "4A1B2C3E"), ("", "")])
def test_two_slots_of_one_name(banks: tuple[str, str], serials: tuple[str, str]) -> None:
    """H04: two structures are two slots, whatever they are called."""
    rows = (smbios.memory(0x11 + n, "DIMM 0", bank=banks[n], serial=serials[n]) for n in range(2))
    run = _run(_with_memory(*rows))
    modules = _modules(run)
    assert len({m.id for m in modules}) == 2
    assert len({m.place for m in modules}) == 2
    assert not accused(located(run))


def test_two_modules_of_one_serial_that_looks_real() -> None:
    """H05: the one whose address fails is at fault, or its twin; no third."""
    rows = [smbios.memory(0x11 + n, f"DIMM {n}") for n in range(2)]
    rows.append(smbios.memory(0x13, "DIMM 2", serial="77AA0001"))
    run = _run(_with_memory(*rows))
    first, second, third = _modules(run)
    assert first.serial == second.serial != third.serial
    assert len({first.id, second.id, third.id}) == len({first.place, second.place}) + 1 == 3
    failed = tuple(
        Reading(check=check, at=at, outcome=Outcome.FAILED)
        for check, at in (("memory.words", "machine"), ("memory.module-words", first.id))
    )
    run = msgspec.structs.replace(
        run, readings=(*run.readings, *failed), complaint=Complaint.UNSTABLE
    )
    found = located(run, msgspec.structs.replace(run, number=2))
    chances = {c.component: c.probability for c in found.candidates}
    assert chances[first.id] > 0.2
    assert chances.get(second.id, 0.0) < 0.1 and chances.get(third.id, 0.0) < 0.1


NAMES: Final = (
    b"ABCDEFGHIJKLM",
    b" " * 13,
    b"\xff\xfe\x80\x9b" * 3 + b"\n",
    b"\x1b[2J\x1b]0;x\x07\n ",
    bytes(13),
    b"\n" * 13,
    b"\xe2\x80\xae" * 4 + b"\n",
    b"A\nB\nC\nD\nE\nF\nG",
)


@pytest.mark.parametrize("name", NAMES)
@pytest.mark.parametrize("tag", [0xFC, 0xFE, 0xFF])
def test_names_of_a_screen(tag: int, name: bytes) -> None:
    """H06: the text is 13 bytes of a stranger's."""
    sound = edid_builder.panel()
    at = sound.index(bytes([0, 0, 0, tag, 0]))
    odd = edid_builder.sealed(sound[: at + 5] + name.ljust(13)[:13] + sound[at + 18 :])
    assert len(odd) == 128
    assert edid.parse(odd).damage == ()
    card = f"{devices.ROOT}/0000:00:02.0/drm/card0"
    nodes = (Node("drm", card), Node("drm", f"{card}/card0-eDP-1",
             {"status": "connected", "enabled": "enabled", "edid": odd}))  # fmt: skip
    bed = laptops.ahci()
    run = _run(replace(bed, nodes=(*bed.nodes, *nodes)))
    (panel,) = (p for p in run.inventory.parts if p.kind == "panel")
    told = " ".join(
        (panel.id, panel.name, panel.model or "", panel.serial or "", panel.vendor or "")
    )
    assert not set(clean(told)) & STEERING
    assert panel.name.strip()
    assert not accused(located(run))


@pytest.mark.parametrize("present", ["0", "2", "-1", "x", ""])
def test_a_battery_that_is_not_there_and_tells_figures(present: str) -> None:
    """H07: what is not there is not healthy, and no figure of it accuses anybody."""
    for figures in ({}, {"energy_full": "10000000", "energy_now": "9000000"},
                    {"energy_now": "0", "status": "Discharging", "capacity": "0"}):  # fmt: skip
        bed = with_files(laptops.ahci(), of("power_supply", "BAT0"), present=present, **figures)
        run = _run(bed)
        if present == "0":
            assert not outcomes(run, "power.battery-wear") & {"passed", "failed"}
            assert not outcomes(run, "power.battery-report") & {"passed"}
            assert not accused(located(run))


PYTHONS: Final = ("1_000", "\u0661\u0662", "\uff11\uff12", "nan", "-nan", "inf", "-inf", "1e400",
                  "+5", "0x10", "1e3", "\u00b2", "0b1", "0o7", "1.0", "--1", "1\u00a0000",
                  "\u2212" + "5")  # fmt: skip
TEXTS: Final = frozenset(("type", "model", "serial", "model_name", "serial_number", "manufacturer"))


def _numbers(bed: Bed, value: str) -> Bed:
    """Each file of a device that holds a number holds this."""
    nodes = []
    for node in bed.nodes:
        odd = {n: value for n, v in node.files.items() if n not in TEXTS and isinstance(v, str)
               and v.strip().lstrip("-").isdigit()}  # fmt: skip
        nodes.append(replace(node, files={**node.files, **odd}))
    return replace(bed, nodes=tuple(nodes))


@pytest.mark.parametrize("value", PYTHONS)
@pytest.mark.parametrize("name", laptops.ALL)
def test_numbers_that_no_kernel_writes(name: str, value: str) -> None:
    """H08: in all files of devices that hold a number."""
    run = _run(_numbers(laptops.ALL[name](), value))
    assert set(accused(located(run))) <= USUAL[name]

    def refuse(word: str) -> None:
        raise AssertionError(word)

    json.loads(encode(run), parse_constant=refuse)


def _board(strings: tuple[str, ...], uuid: bytes) -> dict[str, Content]:
    fields = [(4 + n, "B", n + 1) for n in range(4)]
    fields += [(8 + i, "B", b) for i, b in enumerate(uuid)]
    fields += [(0x18, "B", 6), (0x19, "B", 5), (0x1A, "B", 6)]
    about = [(4 + i, "B", i + 1) for i in range(5)] + [(9, "B", 9), (0x0D, "B", 0x0A)]
    table = b"".join((
        smbios.firmware(), smbios.structure(1, 1, 0x1B, fields, strings),
        smbios.structure(2, 2, 0x0F, about, strings[:5]), smbios.chassis(), smbios.array(),
        smbios.memory(0x11, "DIMM A"), smbios.array_range(0, (8 << 20) - 1), smbios.end(),
    ))  # fmt: skip
    return {f"{DMI}/DMI": table, f"{DMI}/smbios_entry_point": smbios.entry_point_64(table)}


FILLED: Final = ("Talnau", "Wander 14", "Rev 2", "TN4711", "TN-W14", "Wander")


@pytest.mark.parametrize("blank", [" ", "To be filled by O.E.M.", "Default string", "0"])
@pytest.mark.parametrize("uuid", [bytes(16), b"\xff" * 16, smbios.UUID])
@pytest.mark.parametrize("way", [1, -1])
def test_a_firmware_that_learns_its_name(way: int, uuid: bytes, blank: str, tmp_path: Path) -> None:
    """H11: blank before an update and filled in after it, or the other way round."""
    bed = laptops.ahci()
    both = (_board((blank,) * 6, uuid), _board(FILLED, smbios.UUID))[::way]
    runs = [_run(replace(bed, extra={**bed.extra, **one}), n + 1) for n, one in enumerate(both)]
    found = located(*runs)
    assert found.swaps == ()
    assert found.runs == 2
    assert not accused(found)
    shop = Shop(tmp_path)
    case = shop.open_case(runs[0].inventory, "A-1", Complaint.SLOW, "2026-03-02T09:00:00Z")
    again = shop.find(runs[1].inventory, "A-1", Complaint.SLOW)
    assert again is not None and again.path == case.path


def _smart(bed: Bed, out: bytes) -> Run:
    run = looked(Says(bed, out))
    assert defects(run) == []
    return run


class Says(BedHost):
    """smartctl prints this."""

    def __init__(self, bed: Bed, out: bytes) -> None:
        super().__init__(bed)
        self._out = out

    def command(self, argv: Sequence[str], deadline: float) -> CommandResult:
        if argv[0] == "smartctl" and "test" not in argv:
            return CommandResult(0, self._out, b"")
        return super().command(argv, deadline)


SOUND: Final = json.dumps(laptops.DISK.json()).encode()
FAILS: Final = b'"smart_status": {"passed": false}'
PASSES: Final = b'"smart_status": {"passed": true}'
assert PASSES in SOUND


@pytest.mark.parametrize(
    "first", [(FAILS, PASSES), (PASSES, FAILS)], ids=["fails first", "passes first"]
)
def test_one_answer_that_says_both(first: tuple[bytes, bytes]) -> None:
    """H09: a key twice in one object has no meaning (RFC 8259, 4); nothing passes by it."""
    run = _smart(laptops.ahci(), SOUND.replace(PASSES, b", ".join(first)))
    assert "passed" not in outcomes(run, "storage.health")
    inner = b'"smart_status": {' + b", ".join(f[17:-1] for f in first) + b"}"
    run = _smart(laptops.ahci(), SOUND.replace(PASSES, inner))
    assert "passed" not in outcomes(run, "storage.health")


@pytest.mark.parametrize("mark", [b"\xef\xbb\xbf", b"\xff\xfe", b"\xfe\xff"])
def test_an_answer_with_a_byte_order_mark(mark: bytes) -> None:
    """H09: read as what it says, or as none."""
    run = _smart(laptops.ahci(), mark + SOUND)
    assert outcomes(run, "storage.health") <= {"passed", "not judged"}
    assert not accused(located(run))
    failing = _smart(laptops.ahci(), mark + SOUND.replace(PASSES, FAILS))
    assert "passed" not in outcomes(failing, "storage.health")


def _row(number: Any, name: Any, raw: Any, value: Any = 100) -> dict[str, Any]:
    return {"id": number, "name": name, "value": value, "worst": value, "thresh": 10,
            "when_failed": "", "flags": {"prefailure": True}, "raw": {"value": raw,
            "string": str(raw)}}  # fmt: skip


NO_IDS: Final[tuple[Any, ...]] = ("5", None, 5.5, True, [5], {})
ROWS: Final[dict[str, list[dict[str, Any]]]] = {
    "ids there are not": [_row(n, f"Attr_{n}", 9, 1) for n in (0, 256, -1, 1 << 40)],
    "ids of no number": [_row(n, "x", 9, 1) for n in NO_IDS],
    "a thousand": [_row(n % 256, f"Attr_{n}", n) for n in range(1000) if n % 256 not in (5, 197)],
    "control signs": [_row(240, "\x1b[2J\x00\u202e", 1), _row(241, "", 1), _row(242, None, 1)],
    "names of others": [_row(240, "Reallocated_Sector_Ct", 99), _row(241, "Temperature", 255)],
}


@pytest.mark.parametrize("rows", ROWS)
def test_rows_of_a_drive_that_nobody_knows(rows: str) -> None:
    """H10: ids, counts and names that no drive has."""
    tree = laptops.DISK.json()
    for table in (tree["ata_smart_attributes"]["table"] + ROWS[rows], ROWS[rows]):
        odd = {**tree, "ata_smart_attributes": {"table": table}}
        run = _smart(laptops.ahci(), json.dumps(odd).encode())
        assert not accused(located(run))
        told = "".join(r.says + "".join(r.details) for r in run.readings)
        assert not set(clean(told)) & STEERING


@pytest.mark.parametrize("raws", [(0, 40), (40, 0)])
def test_one_row_twice_with_two_values(raws: tuple[int, int]) -> None:
    """H10: sectors are lost by one of them; the drive does not pass by the other."""
    tree = laptops.DISK.json()
    table = [row for row in tree["ata_smart_attributes"]["table"] if row["id"] != 197]
    table += [_row(197, "Current_Pending_Sector", raw) for raw in raws]
    odd = {**tree, "ata_smart_attributes": {"table": table}}
    run = _smart(laptops.ahci(), json.dumps(odd).encode())
    assert "passed" not in outcomes(run, "storage.medium-errors")
