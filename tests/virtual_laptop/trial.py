"""Flex test, power cuts and ends of starts, all with one laptop: ``... power-cuts --keep DIR``."""

from __future__ import annotations

import shutil
from pathlib import Path
from typing import Any, Final

import msgspec

from tests.virtual_laptop import endings, lead, power_cuts
from tests.virtual_laptop.guest import Guest
from tests.virtual_laptop.play import SECONDS_TO_BEGIN, Bench, Start, supply
from tests.virtual_laptop.scenarios import SOUND
from tests.virtual_laptop.shell import KERNEL_LINE, Job, Shell
from tests.virtual_laptop.stick import CHECKOUT, Stick

SEED: Final = 20
TAKEN: Final = "taken.json"
TRIES: Final = 3
PARTS: Final = ("cuts", "again", "ends")
AT_REST: Final = Start(laptop=SOUND, complaint="switches-off")


def opened(guest: Guest) -> Shell:
    """The guest's shell, once it answers, with the laptop at rest."""
    supply(guest.page, SOUND, ())
    shell = Shell(guest)
    shell.ready(SECONDS_TO_BEGIN)
    return shell


def flexed(guest: Guest, shell: Shell) -> list[dict[str, Any]]:
    """The flex test, again while a busy host kept the guest from looking often enough."""
    tries: list[dict[str, Any]] = []
    while len(tries) < TRIES and not any(t["counted"] == t["played"] for t in tries):
        tries.append(lead.test(guest, shell, SEED + len(tries)))
    return tries


def played(
    image: Path, folder: Path, wanted: int, part: str | None, modules: list[str]
) -> dict[str, Any]:
    """Both parts or one, start after start; the figures of each.

    ``modules``: those of this checkout to be put in place of the image's before the cuts.
    """
    if part == "again":
        return checked(folder)
    bench = Bench(image, folder, ())
    said: dict[str, Any] = {}
    if part in (None, "cuts"):
        said |= cut(bench, image, wanted, modules)
        bench.stick.log = None
    if part in (None, "ends"):
        said |= ends(bench)
    return said


def cut(bench: Bench, image: Path, wanted: int, modules: list[str]) -> dict[str, Any]:
    """One start, and power cut in the middle of its runs."""
    log = bench.stick.log = bench.folder / "writes.log"
    log.touch()
    before = bench.folder / "before.img"
    shutil.copy(image, before)
    with bench.started(AT_REST, KERNEL_LINE, with_shell=True) as guest:
        shell = opened(guest)
        for name in modules:
            shell.replace(name, (CHECKOUT / "livecheck" / name).read_bytes())
        wrong = shell.clock()[1]
        taken = power_cuts.take(guest, shell, log, wanted, SEED)
    (bench.folder / TAKEN).write_bytes(msgspec.json.encode((wrong, taken)))
    return checked(bench.folder)


def checked(folder: Path) -> dict[str, Any]:
    """Cuts taken before, read by the program as it is now; nothing is started."""
    stick = Stick(folder / "stick.img", folder)
    stick.log = folder / "writes.log"
    raw = (folder / TAKEN).read_bytes()
    wrong, taken = msgspec.json.decode(raw, type=tuple[float, list[power_cuts.Cut]])
    rows = power_cuts.check(stick, folder / "before.img", taken, SEED)
    return {"cuts": power_cuts.summary(rows, wrong), "states": rows}


def ends(bench: Bench) -> dict[str, Any]:
    """Each way to end a start, and what the run of the next one says of it."""
    flex: list[dict[str, Any]] = []
    for number, name in enumerate(endings.EXPECTED):
        if name == "software reboot":
            flex = _reboots(bench, number)
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
    return {"flex": flex, "ends": found}


def _reboots(bench: Bench, number: int) -> list[dict[str, Any]]:
    """The last end of the chain: the guest starts anew by itself, and that start judges it.

    With nothing left to be done there, the flex test comes last.
    """
    with bench.started(AT_REST, KERNEL_LINE, with_shell=True) as guest:
        shell = opened(guest)
        endings.bring_about("software reboot", guest, shell, _run(shell, number))
        shell.ready(SECONDS_TO_BEGIN)
        job = _run(shell, number + 1)
        guest.until(
            lambda: power_cuts.going(job), power_cuts.SECONDS_A_RUN, "the first probes of a run"
        )
        guest.until(job.over, power_cuts.SECONDS_A_RUN, "the end of the last run")
        return flexed(guest, shell)


def _run(shell: Shell, number: int) -> Job:
    return shell.begin(
        f"livecheck run --complaint switches-off --ticket E{number} --probes {power_cuts.PROBES}"
    )
