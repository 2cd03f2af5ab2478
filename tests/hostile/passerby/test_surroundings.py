"""The command line and the console where they are stopped, starved, or fed what is no answer.

Sources: setrlimit(2) (RLIMIT_CPU), mount_namespaces(7), signal(7), fifo(7), full(4), link(2);
ECMA-48, 5.4 (control sequences); the bracketed paste of xterm (ctlseqs, from memory).
"""

from __future__ import annotations

import contextlib
import fcntl
import json
import os
import pty
import resource
import select
import signal
import struct
import subprocess
import sys
import termios
import time
from collections.abc import Callable
from pathlib import Path
from typing import Any, Final

import pytest

from livecheck.casefile import CaseFolder, Shop
from tests.hostile import drives
from tests.hostile.drives import CAPTURE, MAIN, command

pytestmark = pytest.mark.usefixtures("own_cache")


def _play(root: Path, *more: str, probes: str = "power,heat,usb,kernel") -> list[str]:
    return ["run", "--from", str(CAPTURE), "--probes", probes, "--shop", str(root), "--ticket",
            "T", "--same-machine", *more]  # fmt: skip


def _ended(process: subprocess.Popen[bytes]) -> tuple[int, str]:
    out, err = process.communicate(timeout=100)
    told = (out or b"").decode("utf-8", "replace") + (err or b"").decode("utf-8", "replace")
    assert "livecheck/" not in told.partition("Traceback")[2], told[-3000:]
    return process.returncode, told


def _started(words: list[str], **how: Any) -> subprocess.Popen[bytes]:
    return subprocess.Popen([*MAIN, *words], stdin=subprocess.DEVNULL, stdout=subprocess.PIPE,
                            stderr=subprocess.PIPE, start_new_session=True, **how)  # fmt: skip


def _case(root: Path) -> CaseFolder:
    (entry,) = [e for e in Shop(root).entries() if e.case is not None and e.case.ticket == "T"]
    return CaseFolder(Path(entry.path))


def _whole(root: Path) -> None:
    for entry in Shop(root).entries():
        if entry.case is not None:
            damaged = CaseFolder(Path(entry.path)).load().damaged
            assert all("nothing was saved" in words for words in damaged)


@pytest.mark.slow
@pytest.mark.parametrize("seconds", [1, 2])
@pytest.mark.parametrize("name", ["run", "report", "cases", "outcome"])
def test_so_many_seconds_of_the_processor(name: str, seconds: int, shop: Shop) -> None:
    """C01: what was saved stands, and the next one can be had."""
    case = str(drives.first(shop).path)
    words = {"run": _play(shop.root), "report": ["report", case],
             "cases": ["cases", "--shop", str(shop.root), "--rebuild"],
             "outcome": ["outcome", case,
                          "--unit", "no-fault", "--proved", "no"]}[name]  # fmt: skip

    def limited() -> None:
        resource.setrlimit(resource.RLIMIT_CPU, (seconds, seconds + 1))

    _ended(_started(words, preexec_fn=limited))
    _whole(shop.root)
    status, told = _ended(_started(words))
    assert status == 0, told
    _whole(shop.root)


@pytest.mark.slow
@pytest.mark.parametrize("empty", ["/sys", "/proc", "/dev", "/sys /proc /dev /run"])
def test_a_live_run_that_sees_nothing(empty: str, tmp_path: Path) -> None:
    """C02: in a mount namespace of its own, with nothing in the places that tell of hardware."""
    root = tmp_path / "drive"
    root.mkdir()
    mounts = " && ".join(f"mount -t tmpfs none {place}" for place in empty.split())
    words = ["run", "--probes", "power,heat,usb,pcie", "--shop", str(root), "--ticket", "T",
             "--complaint", "unstable"]  # fmt: skip
    line = ["unshare", "-m", "--propagation", "private", "sh", "-c", f'{mounts} && exec "$@"', "x"]
    if subprocess.run([*line, "true"], capture_output=True, check=False).returncode:
        pytest.skip("no mount namespace can be had here")
    done = subprocess.run([*line, *MAIN, *words], stdin=subprocess.DEVNULL, capture_output=True,
                          timeout=100, check=False)  # fmt: skip
    told = (done.stdout + done.stderr).decode("utf-8", "replace")
    assert "Traceback" not in told, told[-3000:]
    assert done.returncode in (0, 3), told
    assert done.returncode == 0 or "livecheck: " in told
    assert "no fault" not in told.lower()
    if done.returncode == 0:
        found = json.loads(command("locate", str(_case(root).path), "--json")[1])
        assert found["side"] not in ("no fault", "no-fault")


RECORDS: Final = ("case.json", "runs/0001/run.json", "summary.json", "/shop.toml")


@pytest.mark.parametrize("way", ["link", "hard link", "dots", "link above"])
@pytest.mark.parametrize("record", RECORDS)
def test_output_onto_a_record_by_another_way(
    record: str, way: str, shop: Shop, tmp_path: Path
) -> None:
    """C03: the name is another, the file is the same."""
    file = drives.place(shop, record)
    if not file.exists():
        file.write_bytes(b"{}")
    before = file.read_bytes()
    to = tmp_path / "out.html"
    if way == "link":
        to.symlink_to(file)
    elif way == "hard link":
        os.link(file, to)
    elif way == "dots":
        to = file.parent / ".." / file.parent.name / "." / file.name
    else:
        (tmp_path / "way").symlink_to(file.parent)
        to = tmp_path / "way" / file.name
    case = str(drives.first(shop).path)
    for words in (("report", case, "--to", str(to)),
                  ("cases", "--shop", str(shop.root), "--csv", str(to)),
                  ("capture", str(to))):  # fmt: skip
        _, _, err = command(*words)
        assert "Traceback" not in err
        assert file.read_bytes() == before, words


AT_A_CALL: Final = """
import os, sys
calls = [0]
number, when = map(int, sys.argv[1:3])
def counted(plain):
    def call(*given, **named):
        calls[0] += 1
        if calls[0] == when:
            os.kill(os.getpid(), number)
        return plain(*given, **named)
    return call
for name in ("rename", "replace", "link", "fsync", "mkdir", "open", "unlink", "write"):
    setattr(os, name, counted(getattr(os, name)))
from livecheck import cli
sys.exit(cli.main(sys.argv[3:]))
"""


@pytest.mark.slow
@pytest.mark.parametrize("number", [signal.SIGHUP, signal.SIGTERM, signal.SIGINT])
def test_a_signal_at_a_call_of_saving(number: signal.Signals, tmp_path: Path) -> None:
    """C04: at every ninth call of those that make, name and flush files."""
    root = tmp_path / "drive"
    root.mkdir()
    told = ""
    for when in range(1, 400, 9):
        words = [str(int(number)), str(when), *_play(root, probes="power")]
        process = subprocess.Popen([sys.executable, "-P", "-c", AT_A_CALL, *words],
                                   stdin=subprocess.DEVNULL, stdout=subprocess.PIPE,
                                   stderr=subprocess.PIPE, start_new_session=True)  # fmt: skip
        status, told = _ended(process)
        _whole(root)
        if status == 0:
            break
    status, told = _ended(_started(_play(root, probes="power")))
    assert status == 0, told
    case = _case(root)
    assert case.load().damaged == () or all("nothing was saved" in w for w in case.load().damaged)
    numbers = [run.number for run in case.load().runs]
    assert len(set(numbers)) == len(numbers)


@pytest.mark.slow
@pytest.mark.parametrize("whom", ["program", "probe"])
@pytest.mark.parametrize("moment", [0.5, 0.9, 1.3])
def test_one_of_the_two_is_stopped(whom: str, moment: float, tmp_path: Path) -> None:
    """C05: four seconds, and on; a machine under load does the same."""
    root = tmp_path / "drive"
    root.mkdir()
    process = _started(_play(root))
    time.sleep(moment)
    found = [int(pid) for pid in subprocess.run(
        ["ps", "-o", "pid=", "--ppid", str(process.pid)], capture_output=True, check=False
    ).stdout.split()]  # fmt: skip
    ours = [process.pid] if whom == "program" else found
    for stop in (signal.SIGSTOP, signal.SIGCONT):
        for pid in ours:
            # A probe that has come to its end meanwhile is none to stop.
            with contextlib.suppress(ProcessLookupError):
                os.kill(pid, stop)
        time.sleep(4 if stop is signal.SIGSTOP else 0)
    status, told = _ended(process)
    assert status == 0, told
    (run,) = _case(root).load().runs
    assert {probe.ended for probe in run.probes} == {"done"}


def _fifo(folder: Path) -> str:
    os.mkfifo(folder / "fifo")
    return str(folder / "fifo")


def _folder(folder: Path) -> str:
    (folder / "folder").mkdir()
    return str(folder / "folder")


ODD: Final[dict[str, Callable[[Path], str]]] = {
    "fifo": _fifo,
    "folder": _folder,
    "zero": lambda folder: "/dev/zero",
    "full": lambda folder: "/dev/full",
    "mem": lambda folder: "/proc/self/mem",
    "dash": lambda folder: "-",
    "long": lambda folder: str(folder / ("x" * 5000)),
    "deep": lambda folder: str(folder / ("x/" * 2500)),
    "nul": lambda folder: str(folder / "a\0b"),
    "surrogate": lambda folder: str(folder / "a\ud800b"),
    "not utf-8": lambda folder: str(folder / "a\udcffb"),
    "empty": lambda folder: "",
    "beneath a file": lambda folder: "/etc/passwd/x",
    "tty": lambda folder: "/dev/tty",
}
PLACES: Final = (
    ("run", "--from", "ODD", "--shop", "SHOP"),
    ("run", "--complaint", "no-power", "--readings", "ODD", "--shop", "SHOP"),
    ("save", "ODD", "--shop", "SHOP"),
    ("read-log", "--case", "CASE", "ODD"),
    ("report", "CASE", "--to", "ODD"),
    ("cases", "--shop", "SHOP", "--csv", "ODD"),
    ("cases", "--shop", "ODD"),
    ("locate", "ODD", "--shop", "SHOP"),
    ("locate", "CASE", "--shop", "ODD"),
    ("tree", "ODD", "--shop", "SHOP"),
    ("outcome", "ODD", "--unit", "no-fault", "--proved", "no", "--shop", "SHOP"),
    ("hand-over", "CASE", "--no-guided", "--from", "ODD"),
    ("parts", "ODD", "--shop", "SHOP"),
    ("learn", "--shop", "ODD"),
    ("capture", "ODD"),
    ("guide", "--to", "ODD"),
)


@pytest.mark.parametrize("odd", ODD)
@pytest.mark.parametrize("place", PLACES, ids=lambda words: " ".join(words[:3]))
def test_paths_of_every_kind(
    place: tuple[str, ...], odd: str, shop: Shop, tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    """C06: words within seconds, and nothing made beside the shop drive by a name that is none."""
    if place[0] == "capture" and odd in ("long", "deep", "nul", "surrogate", "not utf-8"):
        pytest.skip("a capture of this machine takes longer than the refusal of its name")
    monkeypatch.chdir(tmp_path)
    named = {"ODD": ODD[odd](tmp_path), "SHOP": str(shop.root),
             "CASE": str(drives.first(shop).path)}  # fmt: skip
    begun = time.monotonic()
    try:
        status, out, err = command(*(named.get(word, word) for word in place))
    except SystemExit as ended:
        status, out, err = int(ended.code or 0), "", ""
    assert time.monotonic() - begun < 5
    assert status in (0, 1, 2, 3)
    assert "Traceback" not in err
    assert not set(out + err) & set("\x00\x1b")
    assert status or not place[1].startswith("ODD") or odd in ("dash", "empty", "folder")
    assert (status, drives.first(shop).load().damaged) in ((status, ()),)


ENDLESS: Final = {
    "a paste without end": b"\x1b[200~" + b"x" * 20_000,
    "half a sequence": b"\x1b[" + b"1;" * 400,
    "an operating system command without end": b"\x1b]0;" + b"y" * 20_000,
    "a mouse": b"".join(b"\x1b[<35;%d;%dM" % (n % 80, n % 25) for n in range(10_000)),
    "no UTF-8": b"\xff\xfe\xe2\x82\xf0\x9f\x94" * 500,
    "NUL": b"\x00" * 5000,
}


@pytest.mark.slow
@pytest.mark.parametrize("what", ENDLESS)
def test_a_console_that_is_fed(what: str, tmp_path: Path) -> None:
    """C07: then Ctrl+C or Ctrl+Q, as the footer says, until it has ended."""
    root = tmp_path / "drive"
    root.mkdir()
    pid, terminal = pty.fork()
    if pid == 0:
        os.execvpe(
            MAIN[0],
            [*MAIN],
            {
                **os.environ,
                "TERM": "xterm-256color",
                "LIVECHECK_SHOP": str(root),
                "HOME": str(tmp_path),
            },
        )
    fcntl.ioctl(terminal, termios.TIOCSWINSZ, struct.pack("HHHH", 25, 80, 0, 0))
    out, begun, fed, sizes = b"", time.monotonic(), ENDLESS[what], 0
    status, keys = None, 0.0
    while time.monotonic() - begun < 60:
        ready, writing, _ = select.select([terminal], [terminal] if fed else [], [], 0.05)
        try:
            if ready:
                out += os.read(terminal, 65536)
            if writing and time.monotonic() - begun > 4 and fed:
                fed = fed[os.write(terminal, fed[:512]) :]
        except OSError:
            pass
        if sizes < 300 and time.monotonic() - begun > 4:
            sizes += 1
            fcntl.ioctl(
                terminal,
                termios.TIOCSWINSZ,
                struct.pack("HHHH", 5 + sizes % 40, 10 + sizes % 150, 0, 0),
            )
        if not fed and sizes >= 300 and time.monotonic() - keys > 1:
            keys = time.monotonic()
            with contextlib.suppress(OSError):
                os.write(terminal, b"\x1b[201~\x1b\\\x11\x11")
        done, told = os.waitpid(pid, os.WNOHANG)
        if done:
            status = os.waitstatus_to_exitcode(told)
            break
    if status is None:
        os.kill(pid, signal.SIGKILL)
        os.waitpid(pid, 0)
    os.close(terminal)
    assert status is not None, out[-1500:]
    assert b"Traceback" not in out, out[-3000:]
