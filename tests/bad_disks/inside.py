"""Runs as root inside the guest: makes bad disks, lets livecheck at them, tells what it found.

Every stage prints one line ``RESULT {json}``; the last one is ``{"end": true}``.
"""

from __future__ import annotations

import json
import os
import subprocess
import sys
import time
import traceback
from collections.abc import Callable
from pathlib import Path
from typing import Any

import msgspec

from livecheck import inventory, knowledge
from livecheck.live_host import LiveHost
from livecheck.probes import Context, registry, runner
from livecheck.probes.drive import read_drives, read_plan
from livecheck.records import Inventory, Part
from tests.bad_disks import mapper

SECTOR = 512
SHOP = "/tmp/shop"
BACKING = "/dev/vdc"
"""A plain drive the mapped devices lie on."""


def main() -> None:
    """All stages; one that fails says so and the others go on."""
    _prepare()
    for stage in (sectors, whole_run, self_test, optical, holes, stall, vanish):
        _tell(stage)
    _say({"end": True})


def _prepare() -> None:
    subprocess.run(["/usr/lib/systemd/systemd-udevd", "--daemon"], check=True)
    for module in ("sd_mod", "sr_mod", "sg", "ahci", "dm-mod", "dm-delay"):
        subprocess.run(["modprobe", module], check=True)
    Path(SHOP).mkdir()
    _settle()


def _settle() -> None:
    subprocess.run(["udevadm", "trigger", "--action=add"], check=True)
    subprocess.run(["udevadm", "settle", "--timeout=300"], check=True)


def _tell(stage: Callable[[], dict[str, Any]]) -> None:
    begun = time.monotonic()
    try:
        found = stage()
    except Exception:
        found = {"trouble": traceback.format_exc()}
    _say({stage.__name__: {**found, "seconds": round(time.monotonic() - begun, 1)}})


def _say(found: dict[str, Any]) -> None:
    print("RESULT", json.dumps(found), flush=True)


# --- The kernel's own bad disk


def _debug_disk(**parameters: int) -> str:
    """Kernel name of a disk made by scsi_debug."""
    words = [f"{name}={value}" for name, value in parameters.items()]
    subprocess.run(["modprobe", "scsi_debug", *words], check=True)
    _settle()
    return next(
        block.name
        for block in Path("/sys/block").glob("sd*")
        if (block / "device/model").read_text("utf-8").strip() == "scsi_debug"
    )


def _no_debug_disk() -> None:
    subprocess.run(["modprobe", "-r", "scsi_debug"], check=False)


def _readings(
    names: tuple[str, ...],
    found: Inventory,
    depth: str,
    on_event: Callable[[runner.Event], None] = lambda event: None,
) -> dict[str, Any]:
    """What these probes say, each reading as builtins, and how they ended."""
    context = Context(
        host=LiveHost(), inventory=found, events=(), knowledge=knowledge.load(), depth=depth
    )
    results = runner.run([registry.BY_NAME[name] for name in names], context, on_event)
    return {
        "readings": [msgspec.to_builtins(r) for r in results.readings],
        "not_tested": [msgspec.to_builtins(n) for n in results.not_tested],
        "probes": [msgspec.to_builtins(p) for p in results.probes],
    }


def _only(found: Inventory, block: str) -> Inventory:
    parts = tuple(p for p in found.parts if p.block == block)
    return msgspec.structs.replace(found, parts=parts)


def _writes() -> dict[str, int]:
    """Write operations of every disk so far (Documentation/admin-guide/iostats.rst, field 5)."""
    disks = [*Path("/sys/block").glob("sd*"), *Path("/sys/block").glob("sr*")]
    return {d.name: int((d / "stat").read_text("utf-8").split()[4]) for d in disks}


def sectors() -> dict[str, Any]:
    """Ten unreadable sectors at 1234h (opts=2), read whole by the probe."""
    block = _debug_disk(dev_size_mb=64, opts=2)
    before = _writes()
    found = inventory.take(LiveHost())
    told = _readings(("storage", "storage-read"), _only(found, block), "full")
    return {**told, "block": block, "writes": [before, _writes()]}


def whole_run() -> dict[str, Any]:
    """A whole run of the command line over this machine's drives, the bad one among them."""
    before = _writes()
    words = [sys.executable, "-m", "livecheck", "run", "--json", "--shop", SHOP,
             "--probes", "storage,usb,shared-path,storage-read,optical-read"]  # fmt: skip
    done = subprocess.run(words, capture_output=True, text=True, check=False)
    report = next(Path(SHOP).rglob("report.html"), None)
    _no_debug_disk()
    return {
        "status": done.returncode,
        "said": done.stderr[-2000:],
        "writes": [before, _writes()],
        "report": report is not None and 'id="drives"' in report.read_text("utf-8"),
        "run": json.loads(done.stdout)["run"] if done.returncode == 0 else None,
    }


def self_test() -> dict[str, Any]:
    """The test a drive makes of itself, asked of the SATA drive through the real smartctl."""
    block = next(p.name for p in Path("/sys/block").glob("sd*"))
    words = [sys.executable, "-m", "livecheck", "self-test", block, "--yes", "--json",
             "--shop", SHOP]  # fmt: skip
    done = subprocess.run(words, capture_output=True, text=True, check=False)
    log = subprocess.run(
        ["smartctl", "-j", "-l", "selftest", f"/dev/{block}"], capture_output=True, check=False
    )
    return {
        "status": done.returncode,
        "said": done.stderr[-2000:],
        "readings": json.loads(done.stdout)["run"]["readings"] if done.returncode == 0 else None,
        "log": json.loads(log.stdout).get("ata_smart_self_test_log"),
    }


def optical() -> dict[str, Any]:
    """What the kernel says of each tray, as livecheck asks it."""
    host = LiveHost()
    return {p.name: host.tray(f"/dev/{p.name}") for p in Path("/sys/block").glob("sr*")}


# --- Mapped devices


def _test(block: str, depth: str) -> dict[str, Any]:
    size = int(Path(f"/sys/block/{block}/size").read_text("utf-8")) * SECTOR
    context = Context(
        host=LiveHost(), inventory=Inventory(), events=(), knowledge=knowledge.load(), depth=depth
    )
    descriptor = LiveHost().open_disk(f"/dev/{block}")
    planned = read_plan.plan(size, depth)
    test = read_drives.reading_test(context, descriptor, block, planned, lambda: False)
    list(test.run({}))
    os.close(descriptor)
    return {
        "bad": [[one.offset, one.bytes] for one in test.stats.bad],
        "ended": test.ended,
        "read": test.stats.bytes,
    }


def _mapped(name: str, pieces: list[tuple[int, str, str]], sectors: int) -> str:
    """A device whose pieces (sectors, target, arguments) are followed by plain backing."""
    targets, at = [], 0
    for length, target, arguments in pieces:
        words = arguments or (f"{BACKING} {at}" if target == "linear" else "")
        targets.append((at, length, target, words.replace("@", str(at))))
        at += length
    targets.append((at, sectors - at, "linear", f"{BACKING} {at}"))
    block = mapper.make(name, targets)
    _settle()
    return block


def holes() -> dict[str, Any]:
    """Three stretches of the error target: one sector, a hundred, and three MiB."""
    pieces = [
        (5003, "linear", ""), (1, "error", ""),
        (20000, "linear", ""), (100, "error", ""),
        (30000, "linear", ""), (6144, "error", ""),
    ]  # fmt: skip
    found = _test(_mapped("holes", pieces, 131072), "full")
    at, wanted = 0, []
    for length, target, _ in pieces:
        if target == "error":
            wanted.append([at * SECTOR, length * SECTOR])
        at += length
    return {**found, "wanted": wanted}


def stall() -> dict[str, Any]:
    """One drive that holds a read back for 120 s, and a sound one behind it in the same run."""
    slow = _mapped(
        "stalls", [(65536, "linear", ""), (2048, "delay", f"{BACKING} @ 120000")], 131072
    )
    sound = _mapped("sound", [(8, "linear", "")], 131072)
    parts = tuple(
        Part(id=f"drive:{block}", kind="drive", name=block, place="p",
             block=block, size_bytes=131072 * SECTOR)
        for block in (slow, sound)
    )  # fmt: skip
    told = _readings(("storage-read",), Inventory(parts=parts), "quick")
    return {**told, "slow": slow, "sound": sound}


def vanish() -> dict[str, Any]:
    """A disk that is taken away once its reading has begun."""
    block = _debug_disk(dev_size_mb=256, delay=3)
    found = _only(inventory.take(LiveHost()), block)
    gone: list[float] = []

    def on_event(event: runner.Event) -> None:
        done = event.progress.done if event.progress is not None else None
        if done and not gone:
            gone.append(done)
            Path(f"/sys/block/{block}/device/delete").write_text("1", "utf-8")

    told = _readings(("storage-read",), found, "full", on_event)
    return {**told, "gone_at": gone}


if __name__ == "__main__":
    main()
