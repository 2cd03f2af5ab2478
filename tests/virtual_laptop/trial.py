"""Flex test, power cuts and ends of starts, all with one laptop: ``... cuts --keep DIR``."""

from __future__ import annotations

import shutil
import time
from pathlib import Path
from typing import Any, Final

from tests.virtual_laptop import cuts, endings, lead
from tests.virtual_laptop.guest import Guest
from tests.virtual_laptop.play import SECONDS_TO_BEGIN, Bench, Start, supply
from tests.virtual_laptop.scenarios import SOUND
from tests.virtual_laptop.shell import KERNEL_LINE, Job, Shell

SEED: Final = 20
PARTS: Final = ("cuts", "ends")
AT_REST: Final = Start(laptop=SOUND, complaint="switches-off")


def opened(guest: Guest) -> Shell:
    """The guest's shell, once it answers, with the laptop at rest."""
    supply(guest.page, SOUND, ())
    shell = Shell(guest)
    shell.ready(SECONDS_TO_BEGIN)
    return shell


def played(image: Path, folder: Path, wanted: int, part: str | None) -> dict[str, Any]:
    """Both parts or one, start after start; the figures of each."""
    bench = Bench(image, folder, ())
    said: dict[str, Any] = {}
    if part in (None, "cuts"):
        said |= flexed_and_cut(bench, image, wanted)
    if part in (None, "ends"):
        said["ends"] = ends(bench)
    return said


def flexed_and_cut(bench: Bench, image: Path, wanted: int) -> dict[str, Any]:
    """One start: the lead flickers, then power is cut in the middle of runs."""
    log = bench.stick.log = bench.folder / "writes.log"
    log.touch()
    before = bench.folder / "before.img"
    shutil.copy(image, before)
    with bench.started(AT_REST, KERNEL_LINE, with_shell=True) as guest:
        shell = opened(guest)
        flex = lead.test(guest, shell, SEED)
        wrong = shell.clock()[1]
        taken = cuts.take(guest, shell, log, wanted, SEED)
    rows = cuts.check(before, log, taken, bench.folder, SEED)
    bench.stick.log = None
    return {"flex": flex, "cuts": cuts.summary(rows, wrong), "states": rows}


def ends(bench: Bench) -> list[dict[str, Any]]:
    """Each way to end a start, and what the run of the next one says of it."""
    for number, name in enumerate(endings.EXPECTED):
        if name == "software reboot":
            _reboots(bench, number)
            continue
        with bench.started(AT_REST, KERNEL_LINE, with_shell=True) as guest:
            shell = opened(guest)
            endings.bring_about(name, guest, shell, _run(shell, number))
    cases = bench.folder / "after"
    bench.stick.copy_cases(cases)
    found = []
    for number, (name, check) in enumerate(endings.EXPECTED.items(), 1):
        told = endings.judged(cases / "livecheck-cases", f"E{number}")
        found.append({"end": name, "expected": check, "right": told["failed"] == [check]} | told)
    return found


def _reboots(bench: Bench, number: int) -> None:
    """The last end of the chain: the guest starts anew by itself, and that start judges it."""
    with bench.started(AT_REST, KERNEL_LINE, with_shell=True) as guest:
        shell = opened(guest)
        endings.bring_about("software reboot", guest, shell, _run(shell, number))
        shell.ready(SECONDS_TO_BEGIN)
        job = _run(shell, number + 1)
        guest.until(lambda: cuts.going(job), cuts.SECONDS_A_RUN, "the first probes of a run")
        time.sleep(endings.RECORDED)


def _run(shell: Shell, number: int) -> Job:
    return shell.begin(
        f"livecheck run --complaint switches-off --ticket E{number} --probes {cuts.PROBES}"
    )
