"""Power cut at random instants of real runs, and the ends of starts told apart afterwards.

One guest runs ``livecheck run`` again and again while every write to its stick is logged.
What the stick held at random instants is made from the log, also without the writes that
the drive was not asked to flush, and read by the program. The last cuts are real ones: the
guest is killed or resets itself, and the next start judges the end.
"""

from __future__ import annotations

import random
import re
import shutil
import time
from pathlib import Path
from typing import Any, Final

import msgspec

from livecheck.casefile import CaseFolder
from livecheck.recorder import openings
from livecheck.records import DamagedRecord, decode
from tests.virtual_laptop import writes
from tests.virtual_laptop.guest import Guest
from tests.virtual_laptop.shell import Job, Shell
from tests.virtual_laptop.stick import Stick, cases_after_power_loss

PROBES: Final = "kernel,power,storage,storage-read,processor,memory"
"""Some seconds and some minutes long, so that a run is saved several times."""
SECONDS_A_RUN: Final = 900.0
LONGEST: Final = 1500.0
"""Seconds after which no more cuts are waited for."""
GAPS: Final = (2.0, 14.0)
"""Seconds between two cuts, drawn evenly."""


class Cut(msgspec.Struct, frozen=True, kw_only=True):
    """One instant: how much of the log there was, what the program had said, what time it was."""

    instant: int
    wall: float
    """The guest's clock, seconds since 1970."""
    saved: tuple[str, ...]
    """Run files reported as saved by then, below the shop drive."""
    going: bool
    """A run had said what its first probes found and was not at its end."""


def begin(shell: Shell, number: int) -> Job:
    """The next run of the session, on a ticket of its own."""
    return shell.begin(
        f"livecheck run --complaint switches-off --ticket C{number} --probes {PROBES}"
    )


def going(job: Job) -> bool:
    return ": done" in job.said() and not job.over() and "Report:" not in job.said()


def saved(text: str) -> tuple[str, ...]:
    """Run files a session's text reports as saved."""
    found = re.findall(r"^Run:\s+\S*?/(livecheck-cases/\S+/run\.json)$", text, re.MULTILINE)
    return tuple(dict.fromkeys(found))


def take(guest: Guest, shell: Shell, log: Path, wanted: int, seed: int) -> list[Cut]:
    """Runs one after the other until there are so many cuts in the middle of one."""
    offset, _ = shell.clock()
    order, cuts, number = random.Random(seed), list[Cut](), 1
    job, end = begin(shell, number), time.monotonic() + LONGEST
    while sum(c.going for c in cuts) < wanted and time.monotonic() < end and guest.running:
        time.sleep(order.uniform(*GAPS))
        # In this order: what was said by then must be in the log by then.
        text, at_work = shell.said(), going(job)
        wall = time.time() + offset
        cuts.append(Cut(instant=writes.count(log), wall=wall, saved=saved(text), going=at_work))
        if job.over():
            number += 1
            job = begin(shell, number)
    return cuts


def check(bench: Stick, before: Path, cuts: list[Cut], seed: int) -> list[dict[str, Any]]:
    """Each cut in each of its states, as the program finds it after the next start's repair.

    ``before``: the stick as it was before the start whose writes were logged.
    """
    assert bench.log is not None
    scratch = before.parent
    replay = writes.Replay(before, bench.log, cuts[-1].instant, bench.span("DATA_GUID"))
    part, shop, rows = scratch / "cut.img", scratch / "cut-shop", []
    # Before the first run has said anything nothing is promised yet.
    promised = [cut for cut in cuts if cut.going or cut.saved]
    for number, cut in enumerate(promised, 1):
        for fate in writes.FATES:
            replay.state(cut.instant, fate, seed + number, part)
            shutil.rmtree(shop, ignore_errors=True)
            cases_after_power_loss(part, shop)
            row = {"cut": number, "during_run": cut.going, "fate": fate,
                   "unflushed": replay.unflushed(cut.instant)}  # fmt: skip
            rows.append(row | _found(shop, cut))
    replay.close()
    part.unlink()
    return rows


def _found(shop: Path, cut: Cut) -> dict[str, Any]:
    """What the program reads from the shop drive of one state."""
    cases = shop / "livecheck-cases"
    damaged, unfinished, whole = list[str](), 0, set[str]()
    for case in sorted(cases.glob("*/case.json")):
        try:
            loaded = CaseFolder(case.parent).load()
        except DamagedRecord as error:
            damaged.append(f"{case.parent.name}: {error}")
            continue
        damaged += [f"{case.parent.name}: {words}" for words in loaded.damaged]
        unfinished += sum(not run.finished for run in loaded.runs)
        whole |= {
            f"livecheck-cases/{case.parent.name}/runs/{run.number:04d}/run.json"
            for run in loaded.runs
            if run.finished
        }
    late, lines, broken = _record(cases, cut.wall)
    return {
        "reported_saved": len(cut.saved),
        "of_these_lost": sorted(set(cut.saved) - whole),
        "shown_as_unfinished": unfinished,
        "shown_as_finished": len(whole),
        "damaged": damaged,
        "record_ends_before_cut_s": late,
        "record_lines": lines,
        "record_broken_lines": broken,
    }


def _record(cases: Path, wall: float) -> tuple[float | None, int, int]:
    """Of the newest open record: seconds its last line lies before the cut, lines, broken ones."""
    notes = sorted((cases / openings.FOLDER).glob("*.json"))
    for note in reversed(notes):
        try:
            opening = decode(note.read_bytes(), openings.Opening)
        except DamagedRecord:
            continue
        for folder in reversed(opening.folders):
            recorded = openings.read(cases / folder)
            if recorded is not None and recorded.closing is None and recorded.samples:
                last = recorded.samples[-1].wall
                late = None if last is None else round(wall - last, 2)
                return late, len(recorded.samples), recorded.damaged
    return None, 0, 0


def summary(rows: list[dict[str, Any]], wrong: float) -> dict[str, Any]:
    """The figures a reader wants first. ``wrong``: uncertainty of the guest's clock, s."""
    during = [row for row in rows if row["during_run"]]
    # A run whose last save is on the drive may not have said so yet.
    open_ones = [row for row in during if row["shown_as_finished"] <= row["reported_saved"]]
    late = [row["record_ends_before_cut_s"] for row in open_ones]
    known = [seconds for seconds in late if seconds is not None]
    return {
        "cuts": len({row["cut"] for row in rows}),
        "cuts_during_a_run": len({row["cut"] for row in during}),
        "states_read": len(rows),
        "reported_saved_in_all_states": sum(row["reported_saved"] for row in rows),
        "of_these_lost": sum(len(row["of_these_lost"]) for row in rows),
        "states_with_damage_told": sum(bool(row["damaged"]) for row in rows),
        "states_of_an_open_run": len(open_ones),
        "not_shown_as_unfinished": sum(not row["shown_as_unfinished"] for row in open_ones),
        "without_record": len(late) - len(known),
        "record_broken_lines": sum(row["record_broken_lines"] for row in rows),
        "record_ends_before_cut_s_worst": max(known, default=None),
        "record_later_than_2_s": sum(seconds > 2.0 for seconds in known),
        "later_beyond_doubt_of_the_clock": sum(seconds > 2.0 + wrong for seconds in known),
        "clock_wrong_by_s_at_most": round(wrong, 3),
    }
