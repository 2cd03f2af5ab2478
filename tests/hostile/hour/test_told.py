"""What is typed: at the counter, into settings, as days, as a drive to copy onto.

Sources: RFC 3339 (days); TOML 1.0; POSIX shell, 2.2 (quoting); HTML, 13.1 (markup).
"""

from __future__ import annotations

import json
import shlex
from html.parser import HTMLParser
from pathlib import Path
from typing import Final

import pytest

from livecheck import demo, judgement, knowledge
from livecheck.casefile import CaseFolder, Shop
from livecheck.intake import data_wanted, leans, missed, opens
from livecheck.records import ToldLine
from tests.hostile import drives
from tests.hostile.drives import command

pytestmark = pytest.mark.usefixtures("own_cache")

SHEET: Final = knowledge.load().intake
DRIVE_1: Final = str(Path(demo.__file__).parent / "drive-1.capture.gz")


def _case(root: Path) -> CaseFolder:
    (entry,) = [e for e in Shop(root).entries() if e.case is not None]
    return CaseFolder(Path(entry.path))


def _run(root: Path, *more: str) -> tuple[int, str]:
    root.mkdir(exist_ok=True)
    status, out, err = command("run", "--from", DRIVE_1, "--complaint", "slow", "--shop", str(root),
                               "--ticket", "4711", *more)  # fmt: skip
    return status, out + err


DAYS: Final = (
    "2026-02-30",
    "2026-13-01",
    "2026-3-2",
    "02.03.2026",
    "today",
    "",
    "-1",
    "9999-99-99",
    "2026-03-02T00:00:00Z",
    "٢٠٢٦-٠٣-٠٢",
    "2026-03-02 ",
)


@pytest.mark.parametrize("option", ["--since", "--until"])
@pytest.mark.parametrize("day", DAYS)
def test_days_that_are_none(option: str, day: str, shop: Shop) -> None:
    """A11: a day that nobody understands is no filter without a word."""
    status, out, err = command("cases", "--shop", str(shop.root), option, day, "--json")
    assert (status == 2 and err.strip()) or (status == 0 and day[:10].strip() == "2026-03-02"), out


@pytest.mark.parametrize("words, number", [
    (("--since", "2026-03-02"), 2), (("--since", "2026-03-03"), 0), (("--until", "2026-03-01"), 0),
    (("--since", "1970-01-01"), 2), (("--until", "9999-12-31"), 2), (("--until", "2026-03-02"), 2),
    (("--since", "2026-03-03", "--until", "2026-03-01"), 0),
])  # fmt: skip
def test_days_at_the_edge(words: tuple[str, ...], number: int, shop: Shop) -> None:
    """A11: both days count, and the wrong order holds none or is named."""
    status, out, err = command("cases", "--shop", str(shop.root), *words, "--json")
    if status:
        assert len(words) == 4 and err.strip()
        return
    found = json.loads(out)
    assert len(found["cases"] if isinstance(found, dict) else found) == number, out


FIGURES: Final = (
    "-1",
    "-0.01",
    "nan",
    "inf",
    "-inf",
    "1e400",
    "0",
    '"60"',
    "true",
    "[60]",
    "1e-300",
    "99999999999999999999",
)


class _Tags(HTMLParser):
    def __init__(self) -> None:
        super().__init__()
        self.seen: set[str] = set()

    def handle_starttag(self, tag: str, attrs: object) -> None:
        self.seen.add(tag)


@pytest.mark.parametrize("figure", FIGURES)
@pytest.mark.parametrize("key", ["hour", "worth", "prices.drive"])
def test_sums_that_cannot_be(key: str, figure: str, tmp_path: Path) -> None:
    """A12: named, or a sum that somebody could pay."""
    root = tmp_path / "drive"
    root.mkdir()
    table = {"currency": '"EUR"', "hour": "60.0", "worth": "400.0", "prices.drive": "90.0"}
    rows = "\n".join(f"{name} = {value}" for name, value in {**table, key: figure}.items())
    (root / "shop.toml").write_text(f"[shop]\n{rows}\n")
    status, told = _run(root)
    assert status == 0, told
    page = _case(root).report_file.read_text("utf-8")
    assert "-1" not in page.partition('id="customer"')[2].partition("</section>")[0]
    for odd in (" nan ", " inf ", "-inf", "EUR -", "-0.01", "1e+", "1e-300"):
        assert odd not in page.lower().replace("\xa0", " "), odd
    if figure in ("-1", "-0.01", "nan", "inf", "-inf", "1e400", '"60"', "[60]", "true"):
        assert "shop.toml" in told


NAMES: Final = (
    "<script>alert(1)</script>",
    "a\\nb",
    "\\u202egnp",
    "x" * 10_000,
    "'\\\"&;",
    "\\u001b[31m",
    "",
)


@pytest.mark.parametrize("name", NAMES, ids=lambda n: n[:12])
@pytest.mark.parametrize("key", ["name", "currency"])
def test_a_shop_of_an_odd_name(key: str, name: str, tmp_path: Path) -> None:
    """A12: shown as letters, on every page."""
    root = tmp_path / "drive"
    root.mkdir()
    table = {"name": '"Mill"', "currency": '"EUR"', "hour": "60.0"} | {key: f'"{name}"'}
    rows = "\n".join(f"{name} = {value}" for name, value in table.items())
    (root / "shop.toml").write_text(f"[shop]\n{rows}\n[shop.prices]\ndrive = 90.0\n")
    status, told = _run(root)
    assert status == 0, told
    assert "\x1b" not in told and "\u202e" not in told
    page = _case(root).report_file.read_text("utf-8")
    tags = _Tags()
    tags.feed(page)
    assert "script" not in tags.seen
    assert "\x1b" not in page and "\u202e" not in page
    assert len(told) < 20_000


def _told(about: str, words: str) -> tuple[ToldLine, ...]:
    return (ToldLine(about=about, words=words),)


DENIED: Final = (
    ("when", "not in sleep"), ("when", "never in or after sleep"), ("when", "not on battery"),
    ("when", "never on battery, always on the adapter"), ("when", "not under load"),
    ("when", "without load"), ("after", "no update"), ("after", "not since an update"),
    ("after", "no thunderstorm"), ("after", "not after a new part"),
)  # fmt: skip


@pytest.mark.parametrize("about, words", DENIED)
def test_what_was_told_not_to_be(about: str, words: str) -> None:
    """A13: a denial makes nothing likelier, and asks for no trial of its own."""
    told = _told(about, words)
    named = {kind for _, kinds in leans(told, SHEET) for kind in kinds}
    only = _told(about, "on the adapter") if "adapter" in words else ()
    assert named == {kind for _, kinds in leans(only, SHEET) for kind in kinds}
    assert not opens(told, SHEET)


@pytest.mark.parametrize("words, asked", [
    ("in or after sleep", "sleep"), ("not in sleep", ""), ("never when it slept", ""),
    ("on battery", "battery"), ("not on battery", ""), ("never on battery, only plugged in", ""),
    ("asleep all day", ""), ("after sleeping", "sleep"),
])  # fmt: skip
def test_trials_that_were_denied(words: str, asked: str, tmp_path: Path) -> None:
    """A13: no sleep and no battery is tried for what was told not to show there."""
    root = tmp_path / "drive"
    root.mkdir()
    sound = Path(demo.__file__).parent / "drive-2.capture.gz"
    status, out, err = command("run", "--from", str(sound), "--complaint", "unstable", "--shop",
                               str(root), "--ticket", "1", "--told", f"when={words}")  # fmt: skip
    assert status == 0, err
    loaded = _case(root).load()
    found = judgement.locate_case(loaded, knowledge.load())
    steps = (found.next_step, *found.alternatives)
    checks = {check for step in steps if step for check in step.checks}
    assert ("sleep.wakes" in checks) == (asked == "sleep"), out
    assert ("power.holds-load" in checks) == (asked == "battery"), out


@pytest.mark.parametrize("words, wanted", [
    ("not wanted", False), ("wanted, no copy", True), ("", True), ("not wanted, he says", False),
    ("not wanted by him, but by his wife", True), ("not wanted? ask him", True),
    ("not wanted: not sure", True), ("Not wanted", False), ("not told", True),
    ("wanted: not the system, the pictures", True),
])  # fmt: skip
def test_data_that_somebody_may_want(words: str, wanted: bool) -> None:
    """A13: where it is not clear, they are wanted."""
    assert data_wanted(_told("data", words)) == wanted


@pytest.mark.parametrize("words, kinds", [
    ("no wireless", {"wireless-card"}), ("the camera is dead", {"camera"}),
    ("the keyboard is fine, the camera is missing", {"camera"}),
    ("sound is gone, memory was tested", {"speaker", "memory-module"}),
    ("it has no lap-keyboards or camerawork", set()), ("soundproof room", set()),
])  # fmt: skip
def test_parts_that_are_fine(words: str, kinds: set[str]) -> None:
    """A13: what works is not missed."""
    assert set(missed(_told("words", words), SHEET)) == kinds


LINES: Final = (
    "=words",
    "=",
    "since",
    "since=",
    "sincE=weeks",
    "since =weeks",
    "note=x",
    "since=weeks=days",
    "words=" + "x" * 100_000,
    "words=a\nb",
    "words=\x1b[31mred",
    "words=<script>x</script>",
    "words=\u202egnp",
    "data=\x00",
    "words=\ud800",
)


@pytest.mark.parametrize("line", LINES, ids=lambda line: repr(line)[:24])
def test_lines_of_the_intake(line: str, tmp_path: Path) -> None:
    """A14: kept as words, or refused; the line beside it stands."""
    root = tmp_path / "drive"
    status, told = _run(root, "--told", "often=rarely", "--told", line)
    assert status in (0, 2), told
    assert "\x1b" not in told and "\u202e" not in told
    if status == 2:
        assert told.strip() and len(told) < 5000
        assert not list(root.rglob("case.json"))
        return
    case = _case(root)
    assert ToldLine(about="often", words="rarely") in case.load().case.told
    page = case.report_file.read_text("utf-8")
    tags = _Tags()
    tags.feed(page)
    assert "script" not in tags.seen
    assert "\x1b" not in page and "\u202e" not in page


TARGETS: Final = (
    "nvme0n1",
    "nvme0n1p1",
    "/dev/nvme0n1",
    "/dev/../dev/nvme0n1",
    "nvme0",
    "",
    "$(reboot)",
    "sdb; reboot",
    "sdb`id`",
    "sd b",
    "loop0",
    "/tmp",
    "-",
    "--help",
    "sdz",
    "../sdb",
    "sdb\nreboot",
    "/dev/disk/by-id/x",
    "sdb1",
)


@pytest.mark.parametrize("target", TARGETS, ids=lambda t: repr(t)[:20])
def test_drives_to_copy_onto(target: str, tmp_path: Path) -> None:
    """A15: nobody's data are overwritten by a line that we print."""
    root = tmp_path / "drive"
    assert _run(root)[0] == 0
    case = str(_case(root).path)
    status, out, err = drives.command("rescue", case, f"--to={target}", "--from", DRIVE_1)
    assert status in (0, 2, 3), out + err
    if status:
        assert err.strip()
        return
    for line in out.splitlines():
        words = shlex.split(line, comments=True) if "ddrescue" in line else []
        assert "/dev/nvme0n1" not in words[-2:], line
        assert not {"$", "`", ";", "|"} & set(line.replace(shlex.quote(target), "")), line
