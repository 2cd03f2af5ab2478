"""The command line a second time: job control, full outputs, odd words, several at once, nobody.

Sources: POSIX.1-2017, XBD 11.1 (job control) and XCU 2.9.1; full(4); execve(2); PEP 383 (words
that are not UTF-8); RFC 8259 (no NaN in JSON, one document); Python's -P (safe_path).
"""

from __future__ import annotations

import argparse
import json
import os
import re
import signal
import subprocess
import sys
import time
from collections.abc import Iterator
from pathlib import Path
from typing import Any, Final

import pytest

from livecheck import cli
from livecheck.casefile import CaseFolder, Shop
from livecheck.records.seal import unsealed
from tests.hostile import drives
from tests.hostile.drives import CAPTURE, MAIN, command
from tests.hostile.outsider.test_words import EVIL, _case

pytestmark = pytest.mark.usefixtures("own_cache")


def _words(root: Path, *more: str, probes: str = "power,heat") -> list[str]:
    return ["run", "--from", str(CAPTURE), "--probes", probes, "--shop", str(root), "--ticket", "T",
            *more]  # fmt: skip


def _done(words: list[Any], **how: Any) -> tuple[int, bytes, bytes]:
    given = {
        "stdin": subprocess.DEVNULL,
        "stdout": subprocess.PIPE,
        "stderr": subprocess.PIPE,
        **how,
    }
    done = subprocess.run([*MAIN, *words], timeout=200, check=False, **given)
    assert b"Traceback" not in (done.stderr or b""), done.stderr[-2000:]
    return done.returncode, done.stdout or b"", done.stderr or b""


@pytest.mark.parametrize("moment", [0.4, 0.8, 1.6])
def test_a_run_that_is_stopped_for_a_while(moment: float, tmp_path: Path) -> None:
    """C11: Ctrl+Z and fg; what the pause took is nobody's fault."""
    process = subprocess.Popen([*MAIN, *_words(tmp_path, probes="power,heat,usb,kernel")],
                               stdout=subprocess.DEVNULL, stderr=subprocess.PIPE,
                               start_new_session=True)  # fmt: skip
    time.sleep(moment)
    os.killpg(process.pid, signal.SIGTSTP)
    time.sleep(3.0)
    os.killpg(process.pid, signal.SIGCONT)
    _, err = process.communicate(timeout=100)
    assert process.returncode == 0, err
    (entry,) = Shop(tmp_path).entries()
    (run,) = CaseFolder(Path(entry.path)).load().runs
    assert {probe.ended for probe in run.probes} == {"done"}


@pytest.mark.parametrize("full", ["out", "err", "both"])
@pytest.mark.parametrize("sort", ["run", "cases", "locate", "report", "--help"])
def test_an_output_that_is_full(sort: str, full: str, shop: Shop,
                                monkeypatch: pytest.MonkeyPatch) -> None:  # fmt: skip
    """C12: a table that was not written whole is no success; the run is saved before it."""
    case = str(drives.first(shop).path)
    words = {
        "run": _words(shop.root),
        "cases": ["cases", "--shop", str(shop.root), "--json"],
        "locate": ["locate", case],
        "report": ["report", case],
        "--help": ["--help"],
    }[sort]
    monkeypatch.setenv("PYTHONUNBUFFERED", "1" if sort == "locate" else "")
    with Path("/dev/full").open("wb") as nowhere:
        given: dict[str, Any] = {}
        if full != "err":
            given["stdout"] = nowhere
        if full != "out":
            given["stderr"] = nowhere
        status, _, err = _done(words, **given)
    assert full == "err" or status != 0
    assert full != "out" or b"livecheck: " in err
    if sort == "run":
        assert any(e.case is not None and e.case.ticket == "T" for e in shop.entries())


NOT_UTF8: Final = b"\xff\x80\xed\xa0\x80\x1b[2J"


def test_words_that_are_not_utf8(shop: Shop, tmp_path: Path) -> None:
    """C13: in each place a word can stand; none of it raw in output or record."""
    case, at = os.fsencode(drives.first(shop).path), [b"--shop", os.fsencode(shop.root)]
    played = [b"--from", os.fsencode(CAPTURE), b"--probes", b"power"]
    for words in (
        [b"run", *played, *at, b"--ticket", NOT_UTF8], [b"note", case, NOT_UTF8],
        [b"note", case, b"x", b"--cannot", NOT_UTF8], [b"cases", *at, b"--find", NOT_UTF8],
        [b"note", case, b"--call", drives.A_PLACE.encode() + b"=" + NOT_UTF8],
        [b"locate", NOT_UTF8], [b"locate", NOT_UTF8, *at], [NOT_UTF8], [b"--" + NOT_UTF8],
        [b"run", *played, b"--shop", os.fsencode(tmp_path) + b"/" + NOT_UTF8, b"--ticket", b"T"],
        [b"run", b"--from", NOT_UTF8], [b"read-log", NOT_UTF8, *at, b"--ticket", b"T"],
        [b"outcome", case, b"--unit", NOT_UTF8, b"--proved", b"yes"], [b"save", NOT_UTF8, *at],
        [b"outcome", case, b"--unit", b"no-fault", b"--proved", b"no", b"--note", NOT_UTF8],
        [b"cases", *at, b"--csv", os.fsencode(tmp_path) + b"/" + NOT_UTF8],
        [b"run", *played, *at, b"--answer", b"cooling@cooling=" + NOT_UTF8],
        [b"parts", case, b"--to", os.fsencode(tmp_path) + b"/" + NOT_UTF8],
    ):  # fmt: skip
        status, out, err = _done(words)
        assert status in (0, 2, 3), (words, err)
        assert not set((out + err).decode("utf-8")) & set("\x1b\x9b"), words
    for file in shop.root.rglob("*.json"):
        json.loads(file.read_bytes())
        assert b"\\ud8" not in file.read_bytes().lower()


ODD: Final = (
    "",
    "-",
    "--",
    "nan",
    "inf",
    "1e400",
    "-1",
    "0",
    "1" + "0" * 30,
    "\u0663",
    "x" * 100_000,
    "\x1b[2J",
    "a=b",
    "=",
    "2026-13-45",
)
LASTING: Final = (
    "run",
    "hand-over",
    "blind",
    "meters",
    "demo",
    "sleep",
    "flex",
    "guided",
    "self-test",
    "capture",
)
"""Commands that go on until somebody ends them, or that look at the machine the test runs on."""


def _options() -> Iterator[tuple[str, str]]:
    parser = cli.parser()
    (chosen,) = (a for a in parser._actions if isinstance(a, argparse._SubParsersAction))
    for name, own in chosen.choices.items():
        for action in own._actions:
            if action.option_strings and action.nargs != 0 and name not in LASTING:
                yield name, action.option_strings[-1]


@pytest.mark.parametrize(("name", "option"), list(_options()))
def test_an_option_with_an_odd_value(name: str, option: str, shop: Shop, tmp_path: Path,
                                     monkeypatch: pytest.MonkeyPatch) -> None:  # fmt: skip
    """C14: words or a result, and nothing made where nobody asked for it."""
    monkeypatch.chdir(tmp_path)
    case = str(drives.first(shop).path)
    first = {"run": ["--from", str(CAPTURE), "--probes", "power"], "save": [str(tmp_path / "none")],
             "hand-over": [case, "--no-guided", "--from", str(CAPTURE)], "guide": [],
             "read-log": ["/dev/null"], "rescue": [case], "cases": [], "learn": [], "checks": [],
             "record-format": []}.get(name, [case])  # fmt: skip
    for value in ODD:
        at = [] if option == "--shop" else ["--shop", str(shop.root)]
        if name in ("guide", "checks", "record-format"):
            at = []
        status, out, err = command(name, *first, *at, f"{option}={value}")
        assert status in (0, 1, 2, 3), (value, err)
        assert not set(out + err) & set("\x1b\x9b"), value
        assert len(err) < 20_000, value


PLACES: Final = (
    "/dev/null",
    "/proc",
    "/proc/self",
    "a\nb",
    "x" * 5000,
    "../up",
    "loop",
    "file",
    "",
    "file/",
    "/dev/full",
    "/sys",
    "\u202e",
    "drive/../../x",
)


@pytest.mark.parametrize("place", PLACES)
def test_a_shop_that_is_no_folder(
    place: str, tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    """C15: refused with words, or used where the words lead to."""
    inner = tmp_path / "inner"
    inner.mkdir()
    monkeypatch.chdir(inner)
    (inner / "loop").symlink_to("loop")
    (inner / "file").write_text("mine")
    for words in (_words(Path())[:5], ["cases"], ["learn"]):
        status, out, err = command(*words, f"--shop={place}")
        assert status in (0, 2, 3), err
        assert len(out + err) > 10 and "\u202e" not in out + err
    assert (inner / "file").read_text() == "mine"
    made = {p.name for p in tmp_path.iterdir()} - {"inner", "cache"}
    assert made <= ({"up"} if place == "../up" else {"x"} if place.endswith("x") else set())


@pytest.mark.slow
def test_everything_at_once(shop: Shop) -> None:
    """C16: ten commands on one case at the same moment, three times."""
    case, at = str(drives.first(shop).path), ["--shop", str(shop.root)]
    for _ in range(3):
        words = [[*_words(shop.root)[:-2], "--case", case, "--same-machine"]] * 3
        words += [["note", case, "a word"], ["report", case], ["cases", *at, "--rebuild"],
                  ["learn", *at, "--use"], ["take-out", case, "1", "--why", "x"],
                  ["outcome", case, "--unit", "no-fault", "--proved", "no", "--keep-open"],
                  ["note", case, "--call", f"{drives.A_PLACE}=socket"]]  # fmt: skip
        before = len(list(Path(case).glob("runs/*/run.json")))
        started = [
            subprocess.Popen([*MAIN, *one], stdout=subprocess.DEVNULL, stderr=subprocess.PIPE)
            for one in words
        ]
        for one, process in zip(words, started, strict=True):
            _, err = process.communicate(timeout=200)
            assert b"Traceback" not in err, err
            assert process.returncode in (0, 1, 2, 3), (one, err)
        runs = Path(case).glob("runs/*/run.json")
        assert len(list(runs)) == before + sum(p.returncode == 0 for p in started[:3])
        assert CaseFolder(Path(case)).load().damaged == ()
        assert command("cases", *at)[0] == 0


ANSWERS: Final = {"nothing": b"", "noise": bytes(range(256)) * 99, "a long line": b"y" * (16 << 20),
                  "NULs": b"\0" * 9999, "yes without end": b"y\nyes\n" * 9999}  # fmt: skip
ASKING: Final = (["self-test", "sda"], ["sleep"], ["read-log", "--installed"], ["rescue", "CASE"],
                 ["hand-over", "CASE", "--from", str(CAPTURE)])  # fmt: skip


@pytest.mark.parametrize("what", ANSWERS)
def test_commands_that_ask(what: str, shop: Shop, tmp_path: Path) -> None:
    """C17: as nobody who may change anything: it ends, by words, and nothing was done."""
    file = tmp_path / "answers"
    file.write_bytes(ANSWERS[what])
    before = {p: p.read_bytes() for p in shop.root.rglob("run.json")}
    for words in ASKING:
        if what.startswith("yes") and words[0] in ("sleep", "self-test"):
            continue
        given = [str(drives.first(shop).path) if w == "CASE" else w for w in words]
        with file.open("rb") as answers:
            status, _, _ = _done([*given, "--shop", str(shop.root)], stdin=answers)
        assert status in (0, 1, 2, 3), words
    assert {p: p.read_bytes() for p in before} == before


def _nobody() -> None:
    os.setgroups([])
    os.setgid(65534)
    os.setuid(65534)


@pytest.mark.parametrize("mode", [0o755, 0o700, 0o711])
def test_as_nobody_on_roots_drive(mode: int, shop: Shop, tmp_path: Path) -> None:
    """C18: what may be read is read; what may not is said."""
    if os.geteuid() != 0:
        pytest.skip("only root becomes nobody")
    for path in (tmp_path, *tmp_path.parents):
        if path != Path("/") and path.stat().st_mode & 0o005 != 0o005:
            path.chmod(path.stat().st_mode | 0o055)
    for path in (*shop.root.rglob("*"), shop.root):
        path.chmod(mode if path.is_dir() else mode & 0o644)
    case, at = str(drives.first(shop).path), ["--shop", str(shop.root)]
    for words in (["cases", *at], ["locate", case], ["report", case], ["note", case, "x"],
                  ["tree", case], ["parts", case], ["learn", *at, "--use"], _words(shop.root),
                  ["outcome", case, "--unit", "no-fault", "--proved", "no"],
                  ["take-out", case, "1"]):  # fmt: skip
        status, out, err = _done(words, preexec_fn=_nobody, env={**os.environ, "HOME": "/proc/none",
                                 "XDG_CACHE_HOME": "/proc/none"}, cwd="/")  # fmt: skip
        if b"No module named" in err or b"can't open" in err:
            pytest.skip("nobody may not read the checkout here")
        assert status in (0, 1, 2, 3), (words, err)
        assert len(out + err) > 10, words


OWN: Final = "import os; open(os.environ['RAN'], 'a').write(__file__ + '\\n')\n"


def _strange_folder(folder: Path) -> Path:
    folder.mkdir()
    names = ("json", "msgspec", "textual", "asyncio", "livecheck", "tomllib", "sitecustomize", "os",
             "shared", "sqlite3", "jinja2", "zlib")  # fmt: skip
    for name in names:
        (folder / f"{name}.py").write_text(OWN)
        (folder / name).mkdir()
        (folder / name / "__init__.py").write_text(OWN)
    return folder


def test_modules_in_the_folder_somebody_stands_in(tmp_path: Path) -> None:
    """C19: the installed command, and the worker that the console starts, run none of them."""
    folder, ran = _strange_folder(tmp_path / "strange"), tmp_path / "ran"
    entry = Path(sys.executable).parent / "livecheck"
    env = {**os.environ, "RAN": str(ran)}
    env.pop("PYTHONPATH")
    shop = tmp_path / "shop"
    shop.mkdir()
    done = subprocess.run(
        [entry, *_words(shop)], cwd=folder, env=env, capture_output=True, check=False
    )
    assert done.returncode == 0, done.stderr[-500:]
    ask = (
        "import asyncio, sys; sys.path[:] = [p for p in sys.path if p]\n"
        "from pathlib import Path\nfrom livecheck.console.link import WorkerLink\n"
        "from livecheck.console.requests import SurveyMachine\nfrom livecheck.plan import Plan\n"
        "async def go():\n"
        "    link = WorkerLink(Path(sys.argv[1]), Path(sys.argv[2]))\n"
        "    async for one in link.ask(SurveyMachine(Plan())): print(one)\n"
        "asyncio.run(go())"
    )
    done = subprocess.run([sys.executable, "-P", "-c", ask, str(shop), str(CAPTURE)], cwd=folder,
                          env=env, capture_output=True, check=False)  # fmt: skip
    assert not ran.exists(), ran.read_text()
    assert done.returncode == 0, done.stderr
    assert b"Trouble" not in done.stdout and len(done.stdout) > 100, done.stdout


def _strict(text: str) -> Any:
    def refuse(word: str) -> None:
        raise AssertionError(f"{word} is no JSON")

    def once(pairs: list[tuple[str, Any]]) -> dict[str, Any]:
        assert len(dict(pairs)) == len(pairs), "a key twice"
        return dict(pairs)

    return json.loads(text, parse_constant=refuse, object_pairs_hook=once)


@pytest.mark.parametrize("evil", EVIL)
def test_json_that_every_program_reads(evil: str, tmp_path: Path) -> None:
    """C20: one document, strict, without half a letter."""
    top = tmp_path / "drive"
    top.mkdir()
    shop = Shop(top)
    folder = _case(shop, EVIL[evil])
    file = folder.run_file(1)
    tree = json.loads(unsealed(file.read_bytes()))
    big = re.sub(r'"value": ?[0-9.]+', '"value": 1e308', json.dumps(tree))
    file.write_text(big)
    case, at = str(folder.path), ["--shop", str(top)]
    for words in (["locate", case], ["parts", case], ["cases", *at], ["tree", case], ["learn", *at],
                  ["report", case], ["note", case, "x"], ["rescue", case],
                  ["outcome", case, "--unit", "no-fault", "--proved", "no"]):  # fmt: skip
        status, out, err = command(*words, "--json")
        assert status in (0, 1, 2, 3), err
        if status == 0 and "unrecognized" not in err:
            assert _strict(out) is not None
            assert (
                not re.search(r"\\ud[89a-f]", out.lower().replace("\\\\", "")) or "\\ud83d" in out
            )
