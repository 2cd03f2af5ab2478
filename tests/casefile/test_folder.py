"""Case folders: numbering, damage, two benches at once."""

from __future__ import annotations

import json
import os
import zlib
from concurrent.futures import ThreadPoolExecutor
from pathlib import Path

import msgspec
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from livecheck.casefile import CaseFolder, Shop
from livecheck.records import (
    Case,
    Complaint,
    DamagedRecord,
    Inventory,
    Machine,
    Part,
    Proved,
    Run,
    decode,
    encode,
)
from livecheck.records.seal import unsealed

BOARD = Machine(
    product="Invented 15", uuid="8d1f0c5e-3b7a-4c21-9e64-51b2a90f7cd3", board_serial="QX7-20931"
)

PROVED = Proved(case="x", recorded="x", component="drive", kind="drive", proved=False)


def _case(shop: Shop, machine: Machine = BOARD, parts: tuple[Part, ...] = ()) -> CaseFolder:
    inventory = Inventory(machine=machine, parts=parts)
    return shop.open_case(inventory, None, Complaint.SLOW, "2026-03-04T10:00:00+00:00")


def _part(serial: str) -> Part:
    return Part(
        id=f"drive:{serial}", kind="drive", name="drive", place="p", identity=f"serial:{serial}"
    )


def test_numbers_are_never_given_twice(tmp_path: Path) -> None:
    """Two benches on one share that claim runs at the same moment get different numbers."""
    folder = _case(Shop(tmp_path))
    with ThreadPoolExecutor(8) as pool:
        numbers = list(pool.map(lambda _: folder.claim_run(), range(64)))
    assert sorted(numbers) == list(range(1, 65))


def test_damaged_runs_are_named_and_left(tmp_path: Path) -> None:
    """A run cut short is reported, the others are read, the file is not touched."""
    folder = _case(Shop(tmp_path))
    for _ in range(3):
        folder.save_run(Run(number=folder.claim_run(), started="2026-03-04T10:00:00+00:00"))
    broken = folder.run_file(2)
    broken.write_bytes(broken.read_bytes()[:40])
    folder.claim_run()
    loaded = folder.load()
    assert [run.number for run in loaded.runs] == [1, 3]
    assert len(loaded.damaged) == 2
    assert "run 2" in loaded.damaged[0]
    assert "cut off" in loaded.damaged[1]
    assert len(broken.read_bytes()) == 40


@pytest.mark.slow
def test_every_flipped_bit_is_told(tmp_path: Path) -> None:
    """Each bit of a saved run in turn: refused, or said to carry no checksum; never judged by.

    Outside source of the sum: Python's zlib.crc32 over the text without its line.
    """
    folder = _case(Shop(tmp_path))
    run = Run(number=folder.claim_run(), started="2026-03-04T10:00:00+00:00")
    file = folder.save_run(run)
    whole = file.read_bytes()
    text, line = whole[: whole.rindex(b",\n")] + b"\n}\n", whole[whole.rindex(b",\n") :]
    assert line == b',\n "checksum": "crc32:%08x"\n}\n' % zlib.crc32(text)
    assert folder.load().unchecked == ()
    for bit in range(len(whole) * 8):
        flipped = bytearray(whole)
        flipped[bit // 8] ^= 1 << bit % 8
        file.write_bytes(flipped)
        loaded = folder.load()
        assert loaded.damaged or loaded.unchecked
        assert not loaded.runs or loaded.runs == (run,)


def test_a_record_without_a_checksum_is_read(tmp_path: Path) -> None:
    """Other programs write them, older versions did, and a person may change one by hand."""
    folder = _case(Shop(tmp_path))
    run = Run(number=folder.claim_run(), started="2026-03-04T10:00:00+00:00")
    file = folder.save_run(run)
    file.write_text(json.dumps({"number": 1, "started": run.started, "schema": 1}))
    loaded = folder.load()
    assert [one.started for one in loaded.runs] == [run.started]
    assert loaded.damaged == ()
    assert "run 1: run.json carries no checksum" in loaded.unchecked[0]


def test_a_run_in_anothers_place_is_named(tmp_path: Path) -> None:
    """Copied there by hand or by a damaged drive: it is not counted twice."""
    folder = _case(Shop(tmp_path))
    file = folder.save_run(Run(number=folder.claim_run(), started="2026-03-04T10:00:00+00:00"))
    folder.run_file(folder.claim_run()).write_bytes(file.read_bytes())
    loaded = folder.load()
    assert [run.number for run in loaded.runs] == [1]
    assert "says it is run 1" in loaded.damaged[0]


@settings(max_examples=300, deadline=None)
@given(st.data())
def test_no_damage_gets_through(data: st.DataObject) -> None:
    """Any cut or overwritten stretch gives a run record or DamagedRecord, nothing else."""
    whole = encode(Run(number=3, started="2026-03-04T10:00:00+00:00"))
    start = data.draw(st.integers(0, len(whole)))
    rubbish = data.draw(st.binary(max_size=20))
    damaged = whole[:start] + rubbish + whole[start + len(rubbish) + data.draw(st.integers(0, 9)) :]
    try:
        run = decode(damaged, Run)
    except DamagedRecord:
        return
    assert isinstance(run, Run)


def test_a_newer_schema_is_refused() -> None:
    """What a later program wrote is not half understood."""
    newer = encode(Run(number=1, started="x")).replace(b'"schema": 2', b'"schema": 3')
    with pytest.raises(DamagedRecord, match="schema 3"):
        decode(newer, Run)


def test_a_machine_is_known_again(tmp_path: Path) -> None:
    """By board and UUID; a lying UUID alone never joins two machines."""
    shop = Shop(tmp_path)
    folder = _case(shop)
    again = Inventory(machine=BOARD)
    found = shop.find(again, None, Complaint.SLOW)
    assert found is not None
    assert found.path == folder.path
    assert shop.find(again, None, Complaint.UNSTABLE) is None
    other = Machine(product="Invented 15", uuid="8d1f0c5e-3b7a-4c21-9e64-51b2a90f7cd3")
    assert shop.find(Inventory(machine=other), None, Complaint.SLOW) is None


def test_a_machine_without_identity_is_known_by_its_parts(tmp_path: Path) -> None:
    """Default strings are none; two parts in common are a machine, one is a swapped part."""
    shop = Shop(tmp_path)
    liar = Machine(product="Default string", uuid="ffffffff-ffff-ffff-ffff-ffffffffffff",
                   board_serial="To be filled by O.E.M.")  # fmt: skip
    _case(shop, liar, (_part("A1"), _part("B2"), _part("C3")))
    swapped = Inventory(machine=liar, parts=(_part("A1"), _part("B2"), _part("D4")))
    stranger = Inventory(machine=liar, parts=(_part("A1"), _part("X8"), _part("Y9")))
    assert shop.find(swapped, None, Complaint.SLOW) is not None
    assert shop.find(stranger, None, Complaint.SLOW) is None


def test_the_benchs_own_stick_makes_no_two_machines_one(tmp_path: Path) -> None:
    """It is in every machine on the bench: alone, or beside one part that was swapped over."""
    nameless = Machine(product="Default string")
    stick = msgspec.structs.replace(_part("STICK"), bench_own=True)
    for number, parts in enumerate(([stick], [stick, _part("A1"), _part("B2")])):
        shop = Shop(tmp_path / str(number))
        _case(shop, nameless, tuple(parts))
        other = (*parts[:2], _part("X8")) if len(parts) > 1 else tuple(parts)
        seen = Inventory(machine=nameless, parts=other)
        assert shop.find(seen, None, Complaint.SLOW) is None


def test_a_ticket_joins_runs_of_two_boards(tmp_path: Path) -> None:
    """After the mainboard was replaced the ticket still finds the case."""
    shop = Shop(tmp_path)
    opened = shop.open_case(Inventory(machine=BOARD), "T-17", Complaint.SLOW, "2026-03-04")
    new_board = Machine(product="Invented 15", board_serial="ZZ9-44012")
    found = shop.find(Inventory(machine=new_board), "T-17", Complaint.SLOW)
    assert found is not None
    assert found.path == opened.path


@pytest.mark.parametrize(("typed", "found"), [("t-17", True), (" T- 17", True), ("T-71", False)])
def test_a_ticket_is_known_as_another_hand_writes_it(
    tmp_path: Path, typed: str, found: bool
) -> None:
    shop, machine = Shop(tmp_path), Inventory(machine=BOARD)
    shop.open_case(machine, "T-17", Complaint.SLOW, "2026-03-04")
    assert (shop.find(machine, typed, Complaint.SLOW) is not None) is found


def _cut(file: Path, whole: bytes, seconds: float = 0.0) -> Path:
    """As FAT may stand after a cut in a save: the file empty, its new content beside it."""
    left = file.with_name(f".{file.name}.{int(seconds):x}a.new")
    left.write_bytes(whole)
    os.utime(left, (1_772_000_000 + seconds,) * 2)
    file.write_bytes(b"")
    return left


def test_a_save_that_a_power_cut_tore_is_read_from_what_is_left_of_it(tmp_path: Path) -> None:
    """fs/fat frees the old file's clusters in the table and changes the folder with no order
    between the two (found by tests/casefile/crash_states.py: 4 of 300 states)."""
    folder = _case(Shop(tmp_path))
    run = Run(number=folder.claim_run(), started="x")
    file = folder.save_run(run)
    for one in (file, folder.case_file, folder.add_proved(PROVED)):
        _cut(one, one.read_bytes())
    loaded = folder.load()
    assert (loaded.damaged, loaded.runs) == ((), (run,))
    assert folder.proved() == ((PROVED,), ())
    folder.change_case(lambda kept: msgspec.structs.replace(kept, outcome="mended"))
    assert decode(folder.case_file.read_bytes(), Case).outcome == "mended"


def test_of_several_the_newest_whole_one_counts(tmp_path: Path) -> None:
    folder = _case(Shop(tmp_path))
    number = folder.claim_run()
    versions = [encode(Run(number=number, started=f"s{n}")) for n in range(3)]
    file = folder.save_run(Run(number=number, started="first"))
    for n, data in enumerate((versions[0], versions[1], versions[2][:-30])):
        _cut(file, data, n)
    assert [run.started for run in folder.load().runs] == ["s1"]


def test_what_is_not_surely_whole_is_not_taken(tmp_path: Path) -> None:
    """Neither without a checksum, nor by a link."""
    folder = _case(Shop(tmp_path))
    file = folder.save_run(Run(number=folder.claim_run(), started="x"))
    whole = file.read_bytes()
    left = _cut(file, unsealed(whole))
    assert folder.load().runs == ()
    left.unlink()
    (tmp_path / "elsewhere").write_bytes(whole)
    left.symlink_to(tmp_path / "elsewhere")
    assert folder.load().runs == ()
