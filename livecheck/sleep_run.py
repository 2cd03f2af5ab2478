"""Sleeping as often as was asked for, recorded, into a run of its case: for console and command.

The recorder's last line before each sleep stands on the drive, so that the next start can tell of
a machine that did not wake.
"""

from __future__ import annotations

from collections.abc import Callable
from pathlib import Path

import msgspec

from livecheck import sleep_test
from livecheck.casefile import Shop
from livecheck.host import Host
from livecheck.judgement import shop_tables
from livecheck.plan import Plan, SleepAsked
from livecheck.recorder import process
from livecheck.recorder.ending import ASLEEP
from livecheck.records import Inventory
from livecheck.run import begin
from livecheck.saving import Saved, given_run, save
from livecheck.sleep_test import Nap


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
    try:
        naps = _naps(host, before.inventory, asked, recorder, on_nap)
        readings = sleep_test.readings(before.inventory, naps)
        plan = msgspec.structs.replace(plan, readings=readings)
        run, messages = given_run(host, plan)
        saved = save(run, plan, shop_tables(shop.root)[0], shop, messages)
        recorder.move(Path(saved.run_file).parent)
        return saved
    finally:
        recorder.stop()


def _naps(
    host: Host,
    before: Inventory,
    asked: SleepAsked,
    recorder: process.Recorder,
    on_nap: Callable[[int, Nap], None],
) -> list[Nap]:
    """As many as were asked for, or until Ctrl+C."""
    naps: list[Nap] = []
    try:
        for number in range(1, asked.times + 1):
            recorder.step(ASLEEP)
            # Until a line with that word stands on the drive.
            host.wait(2 * process.EVERY_SECONDS)
            naps.append(sleep_test.nap(host, before, asked.seconds))
            recorder.step("")
            on_nap(number, naps[-1])
    except KeyboardInterrupt:
        if not naps:
            raise
    return naps
