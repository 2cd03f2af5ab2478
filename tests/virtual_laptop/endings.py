"""Ends of starts, brought about in the guest; the next start alone says which it was."""

from __future__ import annotations

import time
from pathlib import Path
from typing import Any, Final

import msgspec

from livecheck.records import Run, decode
from tests.virtual_laptop import power_cuts
from tests.virtual_laptop.guest import Guest
from tests.virtual_laptop.play import SECONDS_OFF
from tests.virtual_laptop.shell import Job, Shell

EXPECTED: Final = {
    "overheating": "ended.hot",
    "cool switch-off": "ended.cool",
    "adapter lost, battery empty": "ended.supply",
    "software reboot": "ended.restart",
}
"""What is brought about, and the check that must fail at the next start; no other may."""
RECORDED: Final = 20.0
"""Seconds a run goes on before its end is brought about."""


def bring_about(name: str, guest: Guest, shell: Shell, job: Job) -> None:
    """Ends the start in the middle of the run that is going on."""
    guest.until(
        lambda: power_cuts.going(job), power_cuts.SECONDS_A_RUN, "the first probes of a run"
    )
    page = guest.page
    if name == "adapter lost, battery empty":
        page.set(REMN=0, RATE=0, STAT=0)
    time.sleep(RECORDED)
    if name == "overheating":
        for celsius in range(60, 110, 2):
            page.celsius(celsius)
            time.sleep(0.8)
    if name == "software reboot":
        # The kernel's own immediate restart (Documentation/admin-guide/sysrq.rst, "b").
        shell.put_aside()
        shell.type("echo b > /proc/sysrq-trigger")
        return
    if name == "adapter lost, battery empty":
        page.set(ONLN=0)
        time.sleep(0.2)
    guest.cut()
    time.sleep(SECONDS_OFF)


def judged(cases: Path, ticket: str) -> dict[str, Any]:
    """What the run of one ticket says of the end before it."""
    for case in sorted(cases.glob("*/case.json")):
        told = msgspec.json.decode(case.read_bytes())
        if told.get("ticket") != ticket:
            continue
        run = decode((case.parent / "runs/0001/run.json").read_bytes(), Run)
        ended = [r for r in run.readings if r.check.startswith("ended.")]
        return {
            "failed": [r.check for r in ended if r.outcome == "failed"],
            "passed": [r.check for r in ended if r.outcome == "passed"],
            "says": [r.says for r in ended if r.outcome == "failed"],
            "not_tested": [n.why for n in run.not_tested if "ended" in n.what],
        }
    return {"failed": [], "passed": [], "says": [], "not_tested": [f"no case {ticket}"]}
