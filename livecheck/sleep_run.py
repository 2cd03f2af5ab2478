"""Sleeping as often as was asked for, recorded, into a run of its case: for console and command.

The recorder's last line before each sleep stands on the drive, so that the next start can tell of
a machine that did not wake.
"""

from __future__ import annotations

from collections.abc import Callable
from pathlib import Path
from typing import Final

import msgspec

from livecheck import sleep_test
from livecheck.casefile import Shop
from livecheck.host import Host
from livecheck.judgement import shop_tables
from livecheck.plan import Plan, SleepAsked
from livecheck.recorder import aftermath, openings, process
from livecheck.recorder.ending import ASLEEP
from livecheck.run import begin
from livecheck.saving import Saved, given_run, save
from livecheck.sleep_test import Nap

NOTED_SECONDS: Final = 30.0
"""For the recorder's next line to reach the drive, on a slow and busy machine too (assumed)."""


def sleep_and_save(
    host: Host,
    shop: Shop,
    plan: Plan,
    asked: SleepAsked,
    on_nap: Callable[[int, Nap], None] = lambda number, nap: None,
) -> Saved:
    """The naps, and what was gone after them. Raises CannotSleep, and as ``save`` does."""
    shop.ensure_writable()
    before, _ = begin(host, Plan())
    recorder = process.start(host, shop.cases_folder)

    def one() -> Nap:
        recorder.step(ASLEEP)
        _until_noted(host, shop.cases_folder)
        nap = sleep_test.nap(host, before.inventory, asked.seconds)
        recorder.step("")
        return nap

    try:
        naps = _naps(asked.times, one, on_nap)
        readings = sleep_test.readings(before.inventory, naps)
        plan = msgspec.structs.replace(plan, readings=readings)
        run, messages = given_run(host, plan)
        saved = save(run, plan, shop_tables(shop.root)[0], shop, messages)
        recorder.move(Path(saved.run_file).parent)
        return saved
    finally:
        recorder.stop()


def _until_noted(host: Host, cases: Path) -> None:
    """Until a line with that word stands on the drive; a recorder that died costs the record."""
    boot, ends = aftermath.boot(host), host.clock() + NOTED_SECONDS
    while not openings.at_step(cases, boot, ASLEEP) and host.clock() < ends:
        host.wait(process.EVERY_SECONDS)


def _naps(times: int, one: Callable[[], Nap], on_nap: Callable[[int, Nap], None]) -> list[Nap]:
    """As many as were asked for, or until Ctrl+C."""
    naps: list[Nap] = []
    try:
        for number in range(1, times + 1):
            naps.append(one())
            on_nap(number, naps[-1])
    except KeyboardInterrupt:
        if not naps:
            raise
    return naps
