"""The shop drive a second time: file systems of others, times, swapped drives, numbers, tables.

Sources: ntfs-3g(8), exfatfs; Linux Documentation/filesystems/vfat (times in steps of 2 s, from 1980
to 2107); TOML 1.0 (integers of 64 bits, inf and nan, no key twice); RFC 1952; mount(2) MNT_DETACH.
"""

from __future__ import annotations

import contextlib
import gzip
import json
import os
import re
import shutil
import subprocess
import sys
import time
from collections.abc import Iterator
from pathlib import Path
from typing import Final

import msgspec
import pytest

from livecheck.case_index import learned
from livecheck.casefile import CaseFolder, Shop
from livecheck.records import Outcome, encode
from livecheck.records.seal import unsealed
from tests.case_index.drives import add_case, shop_at
from tests.hostile import drives
from tests.hostile.drives import CAPTURE, command

pytestmark = pytest.mark.usefixtures("own_cache")


def _run(shop: Shop, *more: str, probes: str = "power,heat") -> tuple[int, str, str]:
    return command("run", "--from", str(CAPTURE), "--probes", probes, "--shop", str(shop.root),
                   *more)  # fmt: skip


MADE: Final = {
    "ntfs": (["mkntfs", "-q", "-F", "-f", "-L", "SHOPDRIVE"], ["ntfs-3g"]),
    "exfat": (["mkfs.exfat", "-L", "SHOPDRIVE"], ["mount.exfat-fuse"]),
}


@contextlib.contextmanager
def _mounted(sort: str, work: Path) -> Iterator[Path]:
    make, mount = MADE[sort]
    lacking = [name for name in (make[0], mount[0], "fusermount") if shutil.which(name) is None]
    if lacking or not os.access("/dev/fuse", os.W_OK):
        pytest.skip(f"cannot be mounted here: {', '.join(lacking) or 'no /dev/fuse'}")
    image, top = work / "image", work / "mounted"
    with image.open("wb") as file:
        file.truncate(64 << 20)
    top.mkdir()
    subprocess.run([*make, str(image)], check=True, capture_output=True)
    done = subprocess.run([*mount, str(image), str(top)], capture_output=True, check=False)
    if done.returncode:
        pytest.skip(f"cannot be mounted here: {done.stderr.decode()[:200]}")
    try:
        yield top
    finally:
        subprocess.run(["fusermount", "-u", "-z", str(top)], check=True)


@pytest.mark.parametrize("sort", MADE)
def test_a_drive_of_another_system(sort: str, tmp_path: Path) -> None:
    """S14: a case from intake to outcome, a report, a listing, a second bench's run."""
    with _mounted(sort, tmp_path) as top:
        shop = Shop(top)
        for _ in range(2):
            status, _, err = _run(shop, "--ticket", "CON:1?", probes="passive")
            assert status == 0, err
        (entry,) = shop.entries()
        case = str(entry.path)
        for words in (("note", case, "a word", "--told", "since=weeks"), ("report", case),
                      ("locate", case), ("take-out", case, "1", "--why", "x"),
                      ("outcome", case, "--unit", "no-fault", "--proved", "no"),
                      ("cases", "--shop", str(top), "--rebuild"), ("cases", "--shop", str(top)),
                      ("learn", "--shop", str(top))):  # fmt: skip
            status, _, err = command(*words)
            assert status in ((0, 3) if words[0] == "learn" else (0,)), (words, err)
        assert len(list(Path(case).rglob("run.json"))) == 2
        assert CaseFolder(Path(case)).load().damaged == ()
        left = [p.name for p in top.rglob("*") if p.name.endswith(".new")]
        assert left == []


def test_times_in_great_steps(shop: Shop) -> None:
    """S15: another bench's change within the step of a drive's clock is seen."""
    listing = ("cases", "--shop", str(shop.root), "--json")
    then = int(time.time()) // 2 * 2
    case = drives.first(shop)
    _stamp(case.path, then)
    command(*listing)
    case.change_case(lambda c: msgspec.structs.replace(c, ticket="CHANGED"))
    _stamp(case.path, then)
    assert "CHANGED" in command(*listing)[1]


def _stamp(case: Path, seconds: float) -> None:
    for path in (*case.rglob("*"), case):
        os.utime(path, (seconds, seconds))


@pytest.mark.parametrize("when", ["1980-01-01", "2107-12-31", "1969-12-30", "1901-01-01"])
def test_a_drive_of_another_age(when: str, shop: Shop) -> None:
    """S16: what it says of its times changes neither the list nor the order."""
    seconds = float(subprocess.run(["date", "-u", "-d", when, "+%s"], capture_output=True,
                                   check=True).stdout)  # fmt: skip
    for path in (*shop.root.rglob("*"), shop.root):
        with contextlib.suppress(OSError):
            os.utime(path, (seconds, seconds))
    status, out, err = command("cases", "--shop", str(shop.root), "--json")
    assert status == 0 and "T-0" in out and "T-1" in out, err
    assert _run(shop, "--ticket", "T-0", "--same-machine")[0] == 0
    assert [run.number for run in drives.first(shop).load().runs] == [1, 2]


SWAP = """
import os, subprocess, sys, threading, time
top, other, words = sys.argv[1], sys.argv[2], sys.argv[3:]
subprocess.run(["mount", "-t", "tmpfs", "one", top], check=True)
from livecheck import cli
from livecheck.casefile import atomic
whole, done = os.fsync, [0]
def fsync(descriptor):
    done[0] += 1
    if done[0] == int(os.environ["AT"]):
        subprocess.run(["umount", "-l", top], check=True)
        if other == "other":
            subprocess.run(["mount", "-t", "tmpfs", "two", top], check=True)
    return whole(descriptor)
os.fsync = fsync
os.chdir(os.environ["AWAY"])
status = cli.main(words)
left = sorted(os.path.join(a, f) for a, _, fs in os.walk(top) for f in fs)
print("LEFT", status, done[0], left)
"""


@pytest.mark.parametrize("other", ["other", "nothing"])
@pytest.mark.parametrize("at", [1, 2, 4, 7, 11])
def test_a_drive_is_swapped_in_the_middle_of_a_save(other: str, at: int, tmp_path: Path) -> None:
    """S17: what is told as saved stands; nothing of it is written into the empty mount point."""
    top, away = tmp_path / "top", tmp_path / "away"
    top.mkdir()
    away.mkdir()
    words = ["run", "--from", str(CAPTURE), "--probes", "power", "--shop", str(top), "--ticket",
             "T", "--json"]  # fmt: skip
    unshare = ["unshare", "-m", "--propagation", "private", sys.executable, "-c", SWAP]
    done = subprocess.run(
        [*unshare, str(top), other, *words],
        capture_output=True,
        text=True,
        env={**os.environ, "AT": str(at), "AWAY": str(away)},
        check=False,
    )
    if "mount" in done.stderr and "denied" in done.stderr:
        pytest.skip("no file system may be mounted here")
    assert "Traceback" not in done.stderr, done.stderr
    line = next(word for word in done.stdout.splitlines() if word.startswith("LEFT "))
    _, status, count, left = line.split(maxsplit=3)
    # Between two system calls a folder can be made in what is beneath; no record is.
    assert [p for p in top.rglob("*") if not p.is_dir()] == []
    if int(count) < at:
        pytest.skip("the save was done before")
    assert status != "0" or "run.json" in left, "told as saved"
    kept = re.search(r"The run was kept in (\S+\.json) ", done.stderr)
    assert status == "0" or kept or ": done (" not in done.stderr, "a run was taken and is nowhere"
    if kept is not None:
        assert json.loads(Path(kept[1]).read_bytes())["inventory"]
        Path(kept[1]).unlink()
    assert "livecheck: cannot save" in done.stderr or status == "0", done.stderr


@pytest.mark.slow
def test_a_hundred_thousand_cases(tmp_path: Path) -> None:
    """S18: by their summaries; as program of its own, for its memory."""
    shop = shop_at(tmp_path / "drive")
    folder, made = add_case(shop, 0).path, time.time() - 3600
    for number in range(1, 100_000):
        other = shop.cases_folder / f"2026-03-02-T-{number}"
        other.mkdir()
        for name in ("case.json", "summary.json"):
            # An ext4 file has 65,000 names at most (Documentation/filesystems/ext4).
            (shutil.copy if number % 50_000 == 1 else os.link)(folder / name, other / name)
        folder = other if number % 50_000 == 1 else folder
        # Cases of the last seconds are read again each time, however many were made in them.
        os.utime(other, (made, made))
    ask = (
        "import resource, sys, time; from livecheck import cli; "
        "t = time.process_time(); s = cli.main(['cases', '--shop', sys.argv[1], '--find', 'T-7']);"
        "print('USED', s, time.process_time() - t, "
        "resource.getrusage(resource.RUSAGE_SELF).ru_maxrss)"
    )
    for most in (300.0, 10.0):
        done = subprocess.run([sys.executable, "-c", ask, str(shop.root)], capture_output=True,
                              text=True, check=True)  # fmt: skip
        _, status, seconds, kilobytes = done.stdout.splitlines()[-1].split()
        assert (status, float(seconds) < most, int(kilobytes) < 1 << 20) == ("0", True, True), (
            seconds
        )


def _captures() -> Iterator[tuple[str, bytes]]:
    packed = CAPTURE.read_bytes()
    plain = gzip.decompress(packed)
    lines = plain.splitlines(keepends=True)
    yield "packed twice", gzip.compress(packed)
    yield "of a newer version", gzip.compress(plain.replace(b'"schema":', b'"schema":9', 1))
    yield "a name of 10^6", gzip.compress(plain.replace(b"/sys/", b"/" + b"x" * 10**6 + b"/", 1))
    yield "with ..", gzip.compress(plain.replace(b"/sys/", b"/../../etc/"))
    yield "its lines twice", gzip.compress(plain + plain)
    yield "its lines turned", gzip.compress(b"".join(reversed(lines)))
    yield "of CRLF", gzip.compress(plain.replace(b"\n", b"\r\n"))
    yield "with a mark", gzip.compress(b"\xef\xbb\xbf" + plain)
    yield "not packed", plain
    yield "a name in it", packed[:3] + b"\x08" + packed[4:10] + b"../../x\0" + packed[10:]
    for n in range(1, 20):
        yield f"cut at {n}/20", packed[: len(packed) * n // 20]


@pytest.mark.parametrize(("what", "data"), _captures(), ids=lambda one: one if isinstance(one, str)
                         else "")  # fmt: skip
def test_a_capture_that_is_none(what: str, data: bytes, tmp_path: Path) -> None:
    """S19: words that say what it is, or a run of what it holds."""
    file = tmp_path / "odd.gz"
    file.write_bytes(data)
    begun = time.monotonic()
    status, out, err = command("run", "--from", str(file), "--probes", "power", "--shop",
                               str(tmp_path), "--ticket", "T")  # fmt: skip
    assert time.monotonic() - begun < 60
    assert status in (0, 2, 3) and len(out + err) > 10
    assert not what.startswith("cut") or status != 0
    outside = [
        p for p in tmp_path.iterdir() if p.name not in ("odd.gz", "livecheck-cases", "cache")
    ]
    assert outside == []


TABLES: Final = {
    "shop.toml": b'[shop]\nname = "Bench"\nhour = 60.0\n[shop.prices]\ndrive = 50\n',
    "components.toml": b"[drive]\nweight = 2.0\n",
    "bench.toml": b'[covers."bottom cover"]\nminutes = 3\nsource = "Bench"\n',
    "model.toml": b'[no_fault]\nvalue = 3\nsource = "Bench"\n',
}


def _odd_tables(sound: bytes) -> Iterator[tuple[str, bytes]]:
    yield "a mark", b"\xef\xbb\xbf" + sound
    yield "CRLF", sound.replace(b"\n", b"\r\n")
    yield "CR", sound.replace(b"\n", b"\r")
    yield "UTF-16", sound.decode().encode("utf-16")
    yield "a NUL", sound + b"\0"
    yield "twice", sound + sound
    yield "a key of its own kind", sound + b"\n[drive.weight]\nx = 1\n"
    yield "many keys", sound + b"\n[x]\n" + b"".join(b"k%d = 1\n" % n for n in range(60_000))
    for value in ("nan", "inf", "-inf", "-0.0", "-1", "0", "1" + "0" * 400, "1e999", "1e308",
                  "2026-03-01", "07:32:00", '"x"', "true", "[]", "{}", "[[[[1]]]]", '"\\u202e"',
                  "0x7fffffffffffffff", '"""\n\n"""'):  # fmt: skip
        for old in (b"60.0", b"50", b"2.0", b"3", b'"Bench"'):
            if sound.count(old):
                yield f"{old.decode()} is {value[:20]}", sound.replace(old, value.encode(), 1)


@pytest.mark.parametrize("name", ["shop.toml", "components.toml", "bench.toml", "model.toml"])
def test_a_table_of_the_shops_that_is_odd(name: str, shop: Shop) -> None:
    """S20: each command names it or uses it; a probability stays one."""
    case = str(drives.first(shop).path)
    for what, data in _odd_tables(TABLES[name]):
        (shop.root / name).write_bytes(data)
        for words in (("locate", case, "--json"), ("parts", case), ("cases", "--shop",
                      str(shop.root))):  # fmt: skip
            status, out, err = command(*words)
            assert status in (0, 2, 3), (what, err)
            assert "NaN" not in out and "Infinity" not in out and "\u202e" not in out + err, what
            if words[0] == "locate" and status == 0:
                found = json.loads(out)
                for one in found.get("candidates", ()):
                    assert 0 <= one["probability"] <= 1, what


def test_learned_tables_that_are_odd(shop: Shop) -> None:
    """S21: damaged: named or set aside, and the verdict is that without them."""
    file = learned.file(shop.root) if hasattr(learned, "file") else shop.root / "learned.json"
    assert file.is_file()
    plain = unsealed(file.read_bytes())
    case = str(drives.first(shop).path)
    file.unlink()
    without = json.loads(command("locate", case, "--json")[1])
    number = next(m for m in (b"0.5", b"1.5", b"0.1", b"2.0", b"0.2") if m in plain)
    odd = [plain.replace(number, value) for value in (
        b"NaN", b"1e400", b"-1.0", b"1e308", b"0.0", b'"x"', b"null", b"1e-320")]  # fmt: skip
    odd += [
        plain[: len(plain) // 2],
        b"",
        b"\0",
        b"[]",
        b"{}",
        plain.replace(b'"schema": 2', b'"schema": 9'),
        plain.replace(b'"drive"', b'"wormhole"'),
    ]
    for data in odd:
        file.write_bytes(data)
        status, out, err = command("locate", case, "--json")
        assert status in (0, 3), err
        assert "NaN" not in out
        found = json.loads(out) if status == 0 else without
        for one in found.get("location", found).get("candidates", ()):
            assert 0 <= one["probability"] <= 1, data[:200]
        assert command("learn", "--show", "--shop", str(shop.root))[0] in (0, 2, 3)


@pytest.mark.parametrize("made", ["9999", "10000", "00002", "2", str(1 << 70), "999999999", "-1",
                                  "0000", "2 ", "\u0662"])  # fmt: skip
def test_a_folder_among_the_runs(made: str, shop: Shop) -> None:
    """S22: the next number is free, and no run takes another's place."""
    case = drives.first(shop)
    before = case.run_file(1).read_bytes()
    (case.path / "runs" / made).mkdir()
    (case.path / "runs" / made / "run.json").write_bytes(before)
    status, _, err = _run(shop, "--case", str(case.path), "--same-machine")
    assert status == 0, err
    assert case.run_file(1).read_bytes() == before
    assert (case.path / "runs" / made / "run.json").read_bytes() == before
    loaded = case.load()
    assert len({run.number for run in loaded.runs}) == len(loaded.runs)
    assert any("power" in str(run.probes) and run.number > 1 for run in loaded.runs)


@pytest.mark.parametrize("how", ["copy", "rename", "within"])
def test_a_case_that_was_copied_by_hand(how: str, shop: Shop) -> None:
    """S23: a file manager's copy is another folder with the same words in it."""
    case = drives.first(shop)
    other = shop.cases_folder / "2026-03-02-T-0 (copy)"
    if how == "rename":
        case.path.rename(other)
    else:
        shutil.copytree(case.path, shop.root / "aside")
        (shop.root / "aside").rename(other if how == "copy" else case.path / "runs/inner")
    kept = {p: p.read_bytes() for p in shop.root.rglob("run.json")}
    status, out, err = command("cases", "--shop", str(shop.root), "--json", "--rebuild")
    assert status == 0, err
    folders = [one["folder"] if "folder" in one else one["case"] for one in json.loads(out)]
    assert len(folders) == len(set(folders))
    assert _run(shop, "--ticket", "T-0", "--same-machine")[0] in (0, 2, 3)
    assert {p: p.read_bytes() for p in kept} == kept
    assert sum(1 for _ in shop.root.rglob("run.json")) <= len(kept) + 1


@pytest.mark.slow
@pytest.mark.parametrize("sort", ["readings", "parts", "words"])
def test_a_run_without_end(sort: str, shop: Shop) -> None:
    """S24: 200,000 readings, 20,000 parts, 31 MiB of words: judged, or said to be too much."""
    case = drives.first(shop)
    (run,) = case.load().runs
    reading = next(r for r in run.readings if r.outcome is Outcome.PASSED)
    part = run.inventory.parts[0]
    if sort == "readings":
        run = msgspec.structs.replace(run, readings=(reading,) * 200_000)
    elif sort == "parts":
        parts = tuple(msgspec.structs.replace(part, id=f"{part.id}{n}") for n in range(20_000))
        found = msgspec.structs.replace(run.inventory, parts=parts)
        run = msgspec.structs.replace(run, inventory=found)
    else:
        long = msgspec.structs.replace(reading, says="W" * (30 << 20))
        run = msgspec.structs.replace(run, readings=(long, *run.readings))
    case.run_file(1).write_bytes(encode(run))
    for words in (("locate", str(case.path)), ("report", str(case.path)),
                  ("cases", "--shop", str(shop.root), "--rebuild")):  # fmt: skip
        begun = time.process_time()
        status, _, err = command(*words)
        assert status in (0, 3), err[-500:]
        assert time.process_time() - begun < 60, words


@pytest.mark.parametrize("name", ["report.html", "summary.json", "/livecheck-cases/index.html"])
@pytest.mark.parametrize("sort", ["pipe", "folder", "fixed"])
def test_a_page_that_cannot_be_made(name: str, sort: str, shop: Shop) -> None:
    """S25: the run is saved all the same, and what could not be made is said."""
    file = drives.place(shop, name)
    file.unlink(missing_ok=True)
    if sort == "pipe":
        os.mkfifo(file)
    elif sort == "folder":
        file.mkdir()
        (file / "x").write_text("")
    else:
        file.write_text("")
        if subprocess.run(["chattr", "+i", str(file)], capture_output=True, check=False).returncode:
            pytest.skip("no file can be made unchangeable here")
    try:
        status, out, err = _run(shop, "--case", str(drives.first(shop).path), "--same-machine")
        assert status in (0, 3) and "Traceback" not in err
        assert len(drives.first(shop).load().runs) == 2
        assert status == 0 or len(err) > 20
        assert out or err
    finally:
        if sort == "fixed":
            subprocess.run(["chattr", "-i", str(file)], check=True)


NAMES: Final = (
    b"a\nb",
    b"\x1b[2J",
    b"\xff\xfe\x80",
    b"x" * 255,
    b"\xe2\x80\xaeevil",
    b"~$case",
    b"-rf",
    b"2026-03-02-T-0\n",
    b" ",
    b"$(reboot)",
    b"case.json",
    b"*",
)


@pytest.mark.parametrize("name", NAMES)
@pytest.mark.parametrize("where", ["cases", "case", "runs"])
def test_names_of_folders(where: str, name: bytes, shop: Shop) -> None:
    """S26: nothing raw in what is printed; the cases beside it are listed."""
    case = drives.first(shop).path
    above = {"cases": shop.cases_folder, "case": case, "runs": case / "runs"}[where]
    made = os.path.join(os.fsencode(above), name)  # noqa: PTH118
    with contextlib.suppress(FileExistsError):
        os.mkdir(made)  # noqa: PTH102
        own = os.fsencode(drives.second(shop).case_file)
        shutil.copy(own, os.path.join(made, b"case.json"))  # noqa: PTH118
    for words in (
        ("cases", "--shop", str(shop.root), "--rebuild"),
        ("locate", str(case)),
        ("learn", "--shop", str(shop.root)),
        ("cases", "--shop", str(shop.root), "--json"),
    ):
        status, out, err = command(*words)
        assert status in (0, 1, 3), err
        assert not set(out + err) & set("\x1b\u202e\x9b"), words
        assert words[0] != "cases" or "T-1" in out
