"""The command line in surroundings nobody plans for, each time as a program of its own.

Sources: environ(7), locale(7), tzset(3), umask(2), setrlimit(2), signal(7); POSIX.1-2017, XCU 2.9.1
for descriptors that are closed; Python's -O, -OO, -I and PYTHONUTF8 (cmdline, PEP 540).
"""

from __future__ import annotations

import json
import os
import resource
import signal
import subprocess
import sys
import time
from collections.abc import Callable
from pathlib import Path

import pytest

from livecheck.casefile import CaseFolder, Shop
from tests.hostile.drives import CAPTURE

REPO = Path(__file__).parents[3]
MAIN = [sys.executable, "-m", "livecheck"]


def _words(shop: Path, *more: str, probes: str = "power,heat,usb,pcie,kernel") -> list[str]:
    return ["run", "--from", str(CAPTURE), "--probes", probes, "--shop", str(shop),
            "--ticket", "T", *more]  # fmt: skip


def _start(
    words: list[str], python: list[str] | None = None, env: dict[str, str] | None = None,
    before: Callable[[], None] | None = None, cwd: Path | None = None,
    output: int = subprocess.PIPE,
) -> subprocess.Popen[bytes]:  # fmt: skip
    surroundings = {**os.environ, "PYTHONPATH": str(REPO), **(env or {})}
    return subprocess.Popen(
        [*(python or MAIN), *words], env={k: v for k, v in surroundings.items() if v != "-"},
        stdin=subprocess.DEVNULL, stdout=output, stderr=subprocess.PIPE, preexec_fn=before,
        cwd=cwd or REPO, start_new_session=True,
    )  # fmt: skip


def _run(*given: object, **named: object) -> tuple[int, str, str]:
    process = _start(*given, **named)  # type: ignore[arg-type]
    out, err = process.communicate(timeout=120)
    told = (out or b"").decode("utf-8", "replace"), err.decode("utf-8", "replace")
    assert "Traceback" not in told[1] and "Exception ignored" not in told[1], told[1][-2000:]
    return process.returncode, *told


def _sound(shop: Path, runs: int) -> None:
    """One case, so many runs, all whole."""
    (entry,) = Shop(shop).entries()
    loaded = CaseFolder(Path(entry.path)).load()
    assert (len(loaded.runs), loaded.damaged) == (runs, ())


@pytest.fixture
def shop(tmp_path: Path) -> Path:
    made = tmp_path / "drive"
    made.mkdir()
    return made


TICKETS = (
    "-x",
    "",
    " ",
    "../../x",
    "a\nb",
    "x" * (100 << 10),
    "\x1b[2J",
    "T\u202ex",
    "/etc/passwd",
)


@pytest.mark.parametrize("ticket", TICKETS, ids=lambda t: repr(t)[:20])
def test_a_ticket_that_is_none(ticket: str, shop: Path) -> None:
    """C01: refused with words, or one case in the shop's folder and nowhere else.

    One word of a command holds 128 KiB at most (execve(2)), so 1 MiB is the kernel's to refuse.
    """
    beside = set(shop.parent.iterdir())
    words = _words(shop)[:-2]
    status, out, err = _run([*words, f"--ticket={ticket}"])
    assert status in (0, 2), err
    assert not set(out + err) & set("\x1b\u202e\x9b")
    assert set(shop.parent.iterdir()) <= beside | {shop.parent / "cache"}
    folders = list((shop / "livecheck-cases").glob("*")) if status == 0 else []
    assert len([f for f in folders if not f.name.startswith(".")]) == (status == 0)
    assert status or len(out) < 20_000


@pytest.mark.parametrize("closed", [(0,), (1,), (2,), (0, 1, 2), (1, 2)])
def test_descriptors_that_are_closed(closed: tuple[int, ...], shop: Path) -> None:
    """C02: the run is saved, and no record or device is written in a descriptor's place."""

    def close() -> None:
        for number in closed:
            os.close(number)

    status, _, _ = _run(_words(shop), before=close)
    assert status == 0
    _sound(shop, 1)


def test_the_reader_goes_away(shop: Path) -> None:
    """C03: as under head; what was found is saved all the same."""
    for words, runs in ((_words(shop), 1), (["cases", "--shop", str(shop), "--json"], 1),
                        (["checks"], 1), (["--help"], 1)):  # fmt: skip
        reading, writing = os.pipe()
        os.close(reading)
        status, _, err = _run(words, output=writing)
        os.close(writing)
        assert status in (0, 1, 2, 3, -signal.SIGPIPE, 141), (words, err)
        _sound(shop, runs)


def _left(session: int) -> list[bytes]:
    """Processes of a session; a probe ends by itself once nobody reads what it finds."""
    words = ["ps", "-o", "pid=", "-s", str(session)]
    return subprocess.run(words, capture_output=True, check=False).stdout.split()


@pytest.mark.parametrize("number", [signal.SIGTERM, signal.SIGHUP, signal.SIGINT])
def test_a_signal_at_any_moment(number: signal.Signals, shop: Path) -> None:
    """C04: seven moments of a run; what stands is whole, and the next run goes into the case."""
    whole = 0
    for moment in (0.05, 0.2, 0.35, 0.5, 0.7, 0.9, 1.2):
        process = _start(_words(shop))
        time.sleep(moment)
        os.kill(process.pid, number)
        _, err = process.communicate(timeout=60)
        words = err.decode("utf-8", "replace")
        # Before the program's own first line Python itself answers SIGINT with its traceback.
        assert "livecheck/" not in words.partition("Traceback")[2], words
        until = time.monotonic() + 15
        while (left := _left(process.pid)) and time.monotonic() < until:
            time.sleep(0.2)
        assert left == []
    status, _, _ = _run(_words(shop))
    assert status == 0
    entries = Shop(shop).entries()
    assert len(entries) == 1
    loaded = CaseFolder(Path(entries[0].path)).load()
    whole = sum(run.finished for run in loaded.runs)
    assert whole >= 1
    assert all("nothing was saved" in words for words in loaded.damaged)


SURROUNDINGS: dict[str, dict[str, str]] = {
    "no HOME": {"HOME": "-", "XDG_CACHE_HOME": "-"},
    "a HOME that is a file": {"HOME": "/etc/passwd", "XDG_CACHE_HOME": "-"},
    "a HOME that is not there": {"HOME": "/proc/none", "XDG_CACHE_HOME": "/proc/none/x"},
    "a relative cache": {"XDG_CACHE_HOME": "here"},
    "no TERM": {"TERM": "-"},
    "a strange TERM": {"TERM": "\x1b[2J"},
    "C": {"LANG": "C", "LC_ALL": "C"},
    "POSIX and no UTF-8 mode": {"LC_ALL": "POSIX", "PYTHONUTF8": "0", "PYTHONCOERCECLOCALE": "0"},
    "ASCII out": {"PYTHONIOENCODING": "ascii", "PYTHONUTF8": "0"},
    "Turkish": {"LANG": "tr_TR.UTF-8", "LC_ALL": "tr_TR.UTF-8"},
    "no locale": {"LC_ALL": "xx_YY.ZZ"},
    "a zone outside": {"TZ": "../../etc/passwd"},
    "a zone of the future": {"TZ": "XYZ-167:59:59"},
    "a zone that is none": {"TZ": ":\x01"},
    "zero columns": {"COLUMNS": "0", "LINES": "0"},
    "huge columns": {"COLUMNS": "99999999"},
    "no number of columns": {"COLUMNS": "many"},
    "a hash seed": {"PYTHONHASHSEED": "4294967295"},
    "an empty PATH": {"PATH": ""},
    "no TMPDIR": {"TMPDIR": "/proc/none"},
}


@pytest.mark.parametrize("what", SURROUNDINGS)
def test_surroundings_nobody_plans_for(what: str, shop: Path) -> None:
    """C05, C06, C09: status 0, the run is saved, and the verdict is that of everywhere."""
    around = {"env": SURROUNDINGS[what], "cwd": shop.parent}
    status, out, err = _run(_words(shop, "--json"), **around)
    assert status == 0, err
    _sound(shop, 1)
    assert json.loads(out)["verdict" if "verdict" in json.loads(out) else "location"]
    status, listing, err = _run(["cases", "--shop", str(shop)], **around)
    assert status == 0, err
    assert "T" in listing


@pytest.mark.parametrize("mask", [0o077, 0o000, 0o777, 0o222])
def test_a_umask(mask: int, shop: Path) -> None:
    """C07: records can be read again by whom they belong to (as root anybody reads)."""

    def masked() -> None:
        os.umask(mask)

    status, _, err = _run(_words(shop), before=masked)
    assert status in (0, 3), err
    if status == 0:
        _sound(shop, 1)
        for file in shop.rglob("*.json"):
            assert file.stat().st_mode & 0o400 and not file.stat().st_mode & 0o002


LIMITS = {
    "16 open files": (resource.RLIMIT_NOFILE, 16), "8 open files": (resource.RLIMIT_NOFILE, 8),
    "files of 64 KiB": (resource.RLIMIT_FSIZE, 64 << 10),
    "files of 1 KiB": (resource.RLIMIT_FSIZE, 1 << 10),
    "no core": (resource.RLIMIT_CORE, 0),
    "256 MiB of memory": (resource.RLIMIT_AS, 256 << 20),
    "stack of 256 KiB": (resource.RLIMIT_STACK, 256 << 10),
}  # fmt: skip


@pytest.mark.parametrize("what", LIMITS)
def test_limits(what: str, shop: Path) -> None:
    """C08: the run, or words; never half a record."""
    which, most = LIMITS[what]

    def limited() -> None:
        resource.setrlimit(which, (most, most))

    status, _, err = _run(_words(shop), before=limited)
    assert status in (0, 2, 3), err
    assert status == 0 or err.startswith("livecheck: ") or "\nlivecheck: " in err
    for entry in Shop(shop).entries():
        if entry.case is not None:
            damaged = CaseFolder(Path(entry.path)).load().damaged
            assert all("nothing was saved" in words for words in damaged)
    if status == 0:
        _sound(shop, 1)


def test_no_process_may_be_started(shop: Path) -> None:
    """C08: as nobody, who has one process already; root has no such limit (setrlimit(2))."""
    if os.geteuid() != 0:
        pytest.skip("only root becomes nobody")
    for folder in (shop, shop.parent):
        folder.chmod(0o777)

    def alone() -> None:
        resource.setrlimit(resource.RLIMIT_NPROC, (1, 1))
        os.setgid(65534)
        os.setuid(65534)

    status, out, err = _run(_words(shop), before=alone, env={"HOME": "/proc/none"})
    if "Permission denied" in err and "No module" in err:
        pytest.skip("nobody may not read the checkout here")
    assert status in (0, 3), err
    assert status == 3 or out


def test_the_working_folder_is_gone(shop: Path, tmp_path: Path) -> None:
    """C09: every path given is absolute, so it needs none."""
    gone = tmp_path / "gone"
    gone.mkdir()

    def deleted() -> None:
        os.chdir(gone)
        gone.rmdir()

    status, _, err = _run(_words(shop), before=deleted)
    assert status == 0, err
    _sound(shop, 1)


def test_no_place_for_what_is_temporary(shop: Path, tmp_path: Path) -> None:
    """C09: /tmp is full or closed; where the drive refuses too, the words say so."""
    (tmp_path / "file").write_text("")
    for place in ("/proc", str(tmp_path / "file")):
        status, _, err = _run(_words(shop), env={"TMPDIR": place})
        assert status == 0, err
        nowhere = [*_words(shop)[:5], "--shop", "/proc", "--ticket", "T"]
        status, _, err = _run(nowhere, env={"TMPDIR": place})
        assert status == 3 and "livecheck: " in err


@pytest.mark.parametrize("flags", [["-O"], ["-OO"], ["-X", "dev"], ["-I"], ["-E", "-s"]])
def test_pythons_own_options(flags: list[str], shop: Path) -> None:
    """C10: without assertions, without the environment; the verdict is the same."""
    entry = f"import sys; sys.path.insert(0, {str(REPO)!r}); from livecheck import cli; " \
            "sys.exit(cli.main(sys.argv[1:]))"  # fmt: skip
    (shop / "a").mkdir()
    (shop / "b").mkdir()
    usual = _run(_words(shop / "a", "--json"))
    by_flags = [sys.executable, *flags, "-W", "ignore", "-c", entry]
    found = _run(_words(shop / "b", "--json"), python=by_flags)
    assert (usual[0], found[0]) == (0, 0)
    one, other = json.loads(usual[1])["location"], json.loads(found[1])["location"]
    assert (one["sentence"], one["candidates"]) == (other["sentence"], other["candidates"])
