"""Captures and recorders' lines made to do harm.

Sources: RFC 1952 for gzip's members; RFC 8259, section 9: a parser may set limits on depth and
size; clock_gettime(2): CLOCK_MONOTONIC never runs back.
"""

from __future__ import annotations

import errno
import gzip
import json
import zlib
from pathlib import Path

import msgspec
import pytest

from livecheck import capture, guarded, inventory
from livecheck.capture import CapturedHost
from livecheck.casefile import CaseFolder, Shop
from livecheck.casefile.shop import explain
from livecheck.meters import Sample
from livecheck.recorder import lines
from livecheck.recorder.course import course
from livecheck.records import DamagedRecord, Run
from tests.hostile.drives import command
from tests.recorder import machines

FACTS = {"kernel": "Linux 6.1", "machine": "x86_64", "as_root": True}


def _capture(**answers: object) -> bytes:
    scope = {question: [{"value": value}] for question, value in answers.items()}
    whole = {"program": "x", "scopes": {"": scope, "inventory": scope}, "schema": capture.SCHEMA}
    return gzip.compress(json.dumps(whole).encode())


def _host(**answers: object) -> CapturedHost:
    return capture.parse(_capture(**answers), "x")


@pytest.mark.slow
def test_little_that_unpacks_to_much_is_refused() -> None:
    """A quarter of a megabyte that would fill the machine's memory stops at the limit."""
    packer = zlib.compressobj(9, wbits=31)
    piece = bytes(16 << 20)
    bomb = b"".join(packer.compress(piece) for _ in range(12)) + packer.flush()
    assert len(bomb) < 1 << 18
    with pytest.raises(DamagedRecord, match="128 MiB once unpacked"):
        capture.parse(bomb, "x")
    # Many members, each below the limit: RFC 1952, 2.2.
    with pytest.raises(DamagedRecord, match="1 MiB once unpacked"):
        guarded.unpacked(gzip.compress(bytes(1 << 19)) * 3, 1 << 20)


def test_all_members_are_unpacked_and_the_last_must_be_whole() -> None:
    packed = gzip.compress(b"one ") + gzip.compress(b"two")
    assert guarded.unpacked(packed) == gzip.decompress(packed) == b"one two"
    for end in range(1, len(packed)):
        if end != len(gzip.compress(b"one ")):
            with pytest.raises(DamagedRecord):
                guarded.unpacked(packed[:end])
    with pytest.raises(DamagedRecord):
        guarded.unpacked(packed + b"rest")


@pytest.mark.parametrize(
    "now", ["../../../tmp/x", "", "2026", "1969-12-31T23:59:59+00:00", "2262-04-12T00:00:00+00:00",
            "9999-12-31T23:59:59+00:00", "2026-02-30T00:00:00+00:00", "2026-03-01T10:00:00", "\x00"]
)  # fmt: skip
def test_a_time_that_is_none_names_no_folder(now: str, tmp_path: Path) -> None:
    """It would be the beginning of the case's folder's name, and of every line of time."""
    with pytest.raises(DamagedRecord, match="is no time"):
        _host(facts={**FACTS, "now": now}).facts()
    file = tmp_path / "evil.capture.gz"
    file.write_bytes(_capture(facts={**FACTS, "now": now}))
    (tmp_path / "drive").mkdir()
    words = ("run", "--from", str(file), "--shop", str(tmp_path / "drive"), "--probes", "passive")
    status, _, err = command(*words)
    assert (status, "is no time" in err) == (3, True)
    assert {p.name for p in tmp_path.iterdir()} == {"evil.capture.gz", "drive"}


@pytest.mark.parametrize(
    "answer", [5, {"a": 1}, [[]], "x", None, [5], [{"subsystem": 1}], 1e308], ids=repr
)
def test_an_answer_of_another_type_is_said(answer: object) -> None:
    """Which question it is to, so that whoever made the capture can look."""
    facts = {**FACTS, "now": "2026-03-01T10:00:00+00:00"}
    host = _host(facts=facts, **{"udev pci": answer, "kernel_log": answer})
    for ask in (host.kernel_log, lambda: host.udev("pci"), lambda: inventory.take(host)):
        with pytest.raises(DamagedRecord, match="damaged: what it holds for '"):
            ask()


@pytest.mark.parametrize("number", [-1, 4096, 2**31, 2**64, 10**400, "ENOENT"])
def test_an_errno_that_is_none_is_said(number: object) -> None:
    """Linux, include/linux/err.h: 4095 is the largest."""
    whole = {"program": "x", "scopes": {"": {"facts": [{"errno": number}]}},
             "schema": capture.SCHEMA}  # fmt: skip
    with pytest.raises(DamagedRecord, match="damaged"):
        capture.parse(gzip.compress(json.dumps(whole).encode()), "x").facts()


def _parsed(*rows: bytes) -> lines.Recorded:
    found = lines.parse(b"".join(rows))
    assert found is not None
    return found


def test_times_that_run_backwards_are_left_out() -> None:
    """And counted as damage; what is drawn of the others begins and ends with them."""
    made = machines.record(seconds=10)
    samples = list(made.samples)
    back = [msgspec.structs.replace(samples[3], seconds=s) for s in (-1e300, 0.0, 99.9)]
    mixed = [*samples[:4], *back, *samples[4:]]
    found = _parsed(lines.encode(made.header), *map(lines.encode, mixed))
    assert found.samples == made.samples
    assert found.damaged == 3
    drawn = course(found.header.channels, found.samples)
    assert drawn is not None
    assert list(drawn.seconds) == sorted(drawn.seconds)


def test_another_table_of_channels_begins_anew() -> None:
    """Values are told by their place in the table: of two tables none is read by the other."""
    made = machines.record(seconds=5)
    fewer = msgspec.structs.replace(made.header, channels=made.header.channels[:1])
    late = Sample(seconds=200.0, values=(42.0,))
    rows = (lines.encode(made.header), *map(lines.encode, made.samples), lines.encode(fewer))
    found = _parsed(*rows, lines.encode(late), lines.encode(made.samples[0]))
    assert [sample.values for sample in found.samples] == [(42.0,)]
    assert found.damaged == 1


def test_a_flood_in_the_kernels_log_leaves_a_run_that_can_be_read_again(tmp_path: Path) -> None:
    """Saved whole, it would be larger than what is read of a record: the run would be lost."""
    line = "ata1.00: error: { UNC } " + "x" * 900
    messages = [
        {"seconds": float(n), "priority": 3, "text": line, "device": None} for n in range(36_000)
    ]
    facts = {**FACTS, "now": "2026-03-01T00:00:00+00:00"}
    file = tmp_path / "flood.gz"
    file.write_bytes(_capture(facts=facts, kernel_log=messages))
    words = ("run", "--from", str(file), "--probes", "passive", "--shop", str(tmp_path))
    status, _, err = command(*words)
    assert (status, "Traceback" in err) == (0, False)
    (case,) = Shop(tmp_path).entries()
    loaded = CaseFolder(Path(case.path)).load()
    assert not loaded.damaged
    (run,) = loaded.runs
    assert 1000 < len(run.events) < 10_000
    assert any(missed.what == "Later kernel messages" for missed in run.not_tested)


def test_a_record_that_could_not_be_read_again_is_not_called_saved(tmp_path: Path) -> None:
    folder = CaseFolder(tmp_path / "case")
    huge = Run(number=1, started="x", program="x" * (guarded.RECORD_BYTES + 1))
    with pytest.raises(OSError, match="MiB") as refused:
        folder.save_run(huge)
    assert refused.value.errno == errno.EFBIG
    assert not folder.run_file(1).exists()
    assert "without end" in str(explain(refused.value, tmp_path))
