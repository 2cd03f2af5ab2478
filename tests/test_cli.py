"""The command line's contract: exit status, messages that say what to try, nothing lost."""

from __future__ import annotations

import json
import os
import shlex
import subprocess
import sys
from pathlib import Path

import pytest

from livecheck import cli

CALM = ["run", "--probes", "kernel,firmware"]
"""A run that takes a moment only."""


def _can_have_own_mounts() -> bool:
    """Whether a child may mount what only it sees. In a chroot the kernel refuses even root:
    mount(2), EINVAL, for its root folder is no mount point."""
    tried = subprocess.run(["unshare", "--mount", "true"], capture_output=True, check=False)
    return tried.returncode == 0


OWN_MOUNTS = pytest.mark.skipif(
    not _can_have_own_mounts(), reason="needs root and mounts of its own, which a chroot has not"
)


def _livecheck(*words: str | Path, **extra: str) -> subprocess.CompletedProcess[str]:
    return subprocess.run(
        [sys.executable, "-m", "livecheck", *map(str, words)],
        capture_output=True,
        text=True,
        timeout=120,
        check=False,
        env={**os.environ, **extra},
    )


def _case(shop: Path) -> Path:
    result = json.loads(_livecheck(*CALM, "--shop", shop, "--json").stdout)
    return Path(result["case_folder"])


def test_a_run_is_saved_and_says_where(tmp_path: Path) -> None:
    """The report's path is the last line; record and report stand there."""
    done = _livecheck(*CALM, "--shop", tmp_path, "--ticket", "A 17")
    assert done.returncode == 0, done.stderr
    report = Path(done.stdout.strip().splitlines()[-1].removeprefix("Report:").strip())
    assert report.read_text().lstrip().lower().startswith("<!doctype html>")
    assert (report.parent / "runs" / "0001" / "run.json").is_file()
    listed = json.loads(_livecheck("cases", "--shop", tmp_path, "--json").stdout)
    assert [entry["case"]["ticket"] for entry in listed] == ["A 17"]


@pytest.mark.slow
def test_the_second_run_goes_into_the_same_case(tmp_path: Path) -> None:
    """The same machine with the same ticket continues its case."""
    for _ in range(2):
        assert _livecheck(*CALM, "--shop", tmp_path, "--ticket", "A17").returncode == 0
    folders = list((tmp_path / "livecheck-cases").glob("[!.]*"))
    assert len(folders) == 1
    located = json.loads(_livecheck("locate", folders[0], "--json").stdout)
    assert located["runs"] == 2
    wanted = {"case", "runs", "side", "component", "unit", "probability", "sides", "candidates",
              "next_step", "evidence", "swaps"}  # fmt: skip
    assert wanted <= set(located)
    assert {"device", "controller", "software", "no-fault"} <= set(located["sides"])


@pytest.mark.parametrize(
    ("words", "status", "says"),
    [
        (["frobnicate"], 2, "--help"),
        (["run", "--complaint", "haunted"], 2, "no-power"),
        (["run", "--probes", "storage,nonsense"], 2, "no probe named nonsense"),
        (["locate"], 2, "required: CASE"),
        (["locate", "/nonexistent/case"], 3, "livecheck cases"),
        (["report", "/"], 3, "it holds no case.json"),
        (["run", "--from", "/nonexistent.gz"], 3, "livecheck capture"),
        (["run", "--shop", "/nonexistent"], 3, "mount the shop drive"),
    ],
)
def test_wrong_words(words: list[str], status: int, says: str,
                     capsys: pytest.CaptureFixture[str]) -> None:  # fmt: skip
    """Wrong usage exits 2, the impossible 3; both say what to try, on standard error."""
    assert cli.main(words) == status
    out, err = capsys.readouterr()
    assert out == ""
    assert says in err


@pytest.mark.slow
def test_a_damaged_case_is_told_and_left(tmp_path: Path) -> None:
    """A torn case.json: a clear message, exit 3, and the file is as it was."""
    case = _case(tmp_path)
    torn = (case / "case.json").read_bytes()[:30]
    (case / "case.json").write_bytes(torn)
    done = _livecheck("locate", case)
    assert done.returncode == 3
    assert "restore case.json" in done.stderr
    assert (case / "case.json").read_bytes() == torn


@pytest.mark.slow
def test_a_damaged_run_does_not_stop_the_rest(tmp_path: Path) -> None:
    """One torn run of two: locate works on the other and says so."""
    case = _case(tmp_path)
    assert _livecheck(*CALM, "--shop", tmp_path).returncode == 0
    run_file = case / "runs" / "0001" / "run.json"
    run_file.write_bytes(run_file.read_bytes()[:500])
    done = _livecheck("locate", case, "--json")
    assert done.returncode == 0
    assert "run 1" in done.stderr
    assert json.loads(done.stdout)["runs"] == 1
    assert _livecheck("report", case).returncode == 0
    assert "run 1" in (case / "report.html").read_text()


@pytest.mark.slow
def test_a_damaged_capture(tmp_path: Path) -> None:
    """A capture cut short is refused as such."""
    file = tmp_path / "machine.capture.gz"
    assert _livecheck("capture", file).returncode == 0
    file.write_bytes(file.read_bytes()[:-200])
    done = _livecheck("run", "--from", file, "--shop", tmp_path)
    assert done.returncode == 3
    assert "not a whole capture" in done.stderr


@OWN_MOUNTS
def test_without_smartctl(tmp_path: Path) -> None:
    """No smartctl: the drives are not judged, and the reason says what is missing."""
    # Over the program lies /dev/null, which nobody can run; only this child sees it so.
    hide = "mount --bind /dev/null $(command -v smartctl || echo /usr/sbin/smartctl)"
    run = f"{sys.executable} -m livecheck run --probes storage --json --shop {tmp_path}"
    done = subprocess.run(
        ["unshare", "--mount", "sh", "-c", f"PATH=$PATH:/usr/sbin; {hide} && exec {run}"],
        capture_output=True, text=True, timeout=120, check=False,
    )  # fmt: skip
    assert done.returncode == 0, done.stderr
    result = json.loads(done.stdout)["run"]
    reasons = [r.get("why_not") or "" for r in result["readings"]]
    reasons += [m["why"] for m in result["not_tested"]]
    assert any("smartctl is not installed" in reason for reason in reasons)
    health = [r for r in result["readings"] if r["check"] == "storage.health"]
    assert all(r["outcome"] == "not judged" for r in health)


@pytest.fixture
def small_drive(tmp_path: Path) -> Path:
    """A shop drive of one mebibyte: a tmpfs of its own."""
    drive = tmp_path / "drive"
    drive.mkdir()
    return drive


def _in_small_mount(drive: Path, options: str, script: str) -> subprocess.CompletedProcess[str]:
    """Run a shell script in a private mount name space where ``drive`` is a tiny tmpfs."""
    whole = f"mount -t tmpfs -o size=1m tmpfs {drive} && {options} && {script}"
    return subprocess.run(
        ["unshare", "--mount", "sh", "-c", whole],
        capture_output=True, text=True, timeout=120, check=False,
    )  # fmt: skip


@OWN_MOUNTS
def test_a_full_shop_drive(small_drive: Path) -> None:
    """Full: exit 3, what to try, and what was saved before is untouched."""
    run = f"{sys.executable} -m livecheck {' '.join(CALM)} --shop {small_drive}"
    fill = f"echo kept > {small_drive}/kept; cat /dev/zero > {small_drive}/full 2>/dev/null; true"
    done = _in_small_mount(small_drive, fill, f"{run}; echo status $?; cat {small_drive}/kept")
    assert "status 3" in done.stdout
    assert "kept" in done.stdout
    assert "it is full" in done.stderr


@OWN_MOUNTS
def test_a_read_only_shop_drive(small_drive: Path) -> None:
    """Read-only: exit 3 and what to try."""
    run = f"{sys.executable} -m livecheck {' '.join(CALM)} --shop {small_drive}"
    done = _in_small_mount(small_drive, f"mount -o remount,ro {small_drive}",
                           f"{run}; echo status $?")  # fmt: skip
    assert "status 3" in done.stdout
    assert "read-only" in done.stderr


@OWN_MOUNTS
def test_a_drive_that_fills_up_during_the_run(small_drive: Path) -> None:
    """Refused half-way: the run is kept in the temporary folder, and the message says where, and
    how it comes into its case, ticket and all."""
    run = f"{sys.executable} -m livecheck {' '.join(CALM)} --ticket 'K 7' --shop {small_drive}"
    leave_little = (
        f"mkdir {small_drive}/livecheck-cases; cat /dev/zero > {small_drive}/full 2>/dev/null; "
        f"truncate -s -8K {small_drive}/full"
    )
    done = _in_small_mount(small_drive, leave_little, f"{run}; echo status $?")
    assert "status 3" in done.stdout
    kept = Path(done.stderr.rpartition("kept in ")[2].split()[0].rstrip("."))
    assert json.loads(kept.read_bytes())["schema"] == 2
    back = shlex.split(done.stderr.rpartition(": livecheck ")[2].rpartition(")")[0])
    assert back == ["save", str(kept), "--ticket", "K 7"]
    shop = small_drive.parent / "another"
    shop.mkdir()
    assert cli.main([*back, "--shop", str(shop)]) == 0
    (case,) = shop.glob("livecheck-cases/*/case.json")
    assert json.loads(case.read_bytes())["ticket"] == "K 7"
    kept.unlink()


@pytest.mark.slow
def test_an_ordinary_user(tmp_path: Path) -> None:
    """Without root it runs, and says which things that left unjudged."""
    if os.geteuid() != 0:
        pytest.skip("the suite itself is not root: the other tests are this test")
    tmp_path.chmod(0o777)
    drop = "import os, sys; os.setgid(65534); os.setuid(65534); from livecheck import cli; "
    if subprocess.run([sys.executable, "-c", drop], capture_output=True, check=False).returncode:
        pytest.skip("another user may not read this Python's library or this checkout")
    words = ["run", "--probes", "passive", "--shop", str(tmp_path), "--json"]
    code = f"{drop}sys.exit(cli.main({words!r}))"
    for parent in tmp_path.parents:
        # pytest's own folders, and that of one of its processes.
        if parent.stat().st_uid == 0 and parent.name.startswith(("pytest-", "popen-")):
            parent.chmod(0o755)
    done = subprocess.run([sys.executable, "-c", code], capture_output=True, text=True,
                          timeout=120, check=False)  # fmt: skip
    assert done.returncode == 0, done.stderr
    run = json.loads(done.stdout)["run"]
    assert run["as_root"] is False
    reasons = [r.get("why_not") or "" for r in run["readings"]]
    reasons += [m["why"] for m in run["not_tested"]] + list(run["inventory"]["gaps"])
    assert any("root" in reason for reason in reasons)
