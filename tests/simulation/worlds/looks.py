"""What one run of a machine reads: faults, oddities and false alarms come out as readings."""

from __future__ import annotations

import random
from collections.abc import Iterable, Iterator, Sequence
from math import exp, sqrt
from typing import Final, NamedTuple

import msgspec

from livecheck.diagnosis import worksheet_machine
from livecheck.records import Knowledge, Outcome, Reading
from tests.simulation.dice import NORMAL, bench_rule
from tests.simulation.laptops import Item, Laptop
from tests.simulation.worlds import checks, heat
from tests.simulation.worlds.draw import Oddities, World
from tests.simulation.worlds.fault import Fault
from tests.simulation.worlds.heat import Heat
from tests.simulation.worlds.kind import BOARD, FIRMWARE, SETTING, UNKNOWN

MISSING: Final = {
    "sata-port": "storage.port-answers",
    "pcie-slot": "pcie.answers",
    "memory-slot": "memory.modules-seen",
}
"""What fails at a place where nothing answers."""
ENDED: Final = ("hot", "supply", "battery", "panic", "hardware", "restart", "cool")
_LINKS: Final = ("storage.link-errors", "storage.link-change", "pcie.errors", "kernel.pcie")
_NO_FIRMWARE: Final = (
    "wireless.firmware",
    "wireless.driver",
    "wireless.starts",
    "wireless.hears",
    "kernel.wireless",
    "bluetooth.firmware",
)
_CHATTY: Final = (
    "kernel.firmware",
    "firmware.smbios",
    "firmware.acpi-checksums",
    "firmware.settings",
)


class Acting(NamedTuple):
    """A fault that acts in this run."""

    fault: Fault
    mood: float


class Asked(NamedTuple):
    """One check to be read."""

    check: str
    at: str
    place: str | None = None
    """None: of the machine as a whole, or of something on the board."""
    who: str = ""
    """Whom a standing false alarm belongs to."""


class Looks(NamedTuple):
    """What readings are made from."""

    laptop: Laptop
    fitted: dict[str, Item]
    odd: Oddities
    world: World
    tables: Knowledge
    dice: random.Random
    foreign: frozenset[str]
    """Keys of parts that did not come with the machine: its past is not theirs."""
    set_right: bool
    """True: switches and settings were put right on the bench."""

    def readings(
        self, acting: Sequence[Acting], silent: set[str], tests: Sequence[str], heat_now: Heat
    ) -> list[Reading]:
        """Everything a run of a machine that starts reads, what was dropped left out."""
        asked = [*self._passive(silent), *self._tested(silent, tests)]
        made = [self._read(one, acting) for one in asked if one.check in self.tables.checks]
        made += self._presence(silent)
        loaded = "heat" in tests
        made += heat.readings(heat_now, self.dice, loaded=loaded)
        return self._told_apart(made)

    def bench(self, wanted: Iterable[str], acting: Sequence[Acting]) -> list[Reading]:
        """What the worksheet's steps, or a meter, give."""
        known = [check for check in wanted if check in self.tables.checks]
        made = [self._read(Asked(check, self._bench_at(check)), acting) for check in known]
        slips = self.world.habits.misreads
        return [self._other(one) if self.dice.random() < slips else one for one in made]

    # --- What is asked

    def _passive(self, silent: set[str]) -> Iterator[Asked]:
        for place, item in self.fitted.items():
            if place in silent:
                continue
            names = checks.PASSIVE.get(item.kind, ())
            if self.laptop.spots[place].place.kind == "pcie-slot":
                names = tuple(n for n in names if not n.startswith(checks.SATA_ONLY))
                names += checks.ON_SLOT
            yield from (Asked(name, self._id(item, place), place, item.key) for name in names)
        for place, spot in self.laptop.spots.items():
            if spot.takes == "usb-device":
                names = checks.PASSIVE["usb-device"]
                yield from (Asked(name, place, place, place) for name in names)
        for name, at in checks.PASSIVE_MACHINE.items():
            yield Asked(name, at, None, at)

    def _tested(self, silent: set[str], tests: Sequence[str]) -> Iterator[Asked]:
        of_kind = {
            "read": ("drive", checks.READ),
            "radio": ("wireless-card", checks.RADIO),
            "feeding": ("battery", checks.FEEDING[:1]),
            "memory": ("memory-module", ("memory.module-words",)),
        }
        for test in tests:
            kind, names = of_kind.get(test, ("", ()))
            for place, item in self.fitted.items():
                if item.kind == kind and place not in silent:
                    own = self._id(item, place)
                    yield from (Asked(name, own, place, item.key) for name in names)
            if test == "feeding":
                for place, item in self.fitted.items():
                    names = checks.FEEDING[1:] if item.kind == "adapter" else ()
                    yield from (Asked(name, self._id(item, place), place) for name in names)
            machine = {
                "memory": (*checks.MEMORY, "memory.same-bits"),
                "processor": checks.COUNTING,
                "soak": ("soak.endured",),
            }.get(test, ())
            for name in machine:
                at = heat.PROCESSOR if name.startswith("processor.") else "machine"
                yield Asked(name, "memory-controller" if name == "memory.same-bits" else at)

    def _id(self, item: Item, place: str) -> str:
        return item.key if item.identity else f"{item.kind}@{place}"

    def _bench_at(self, check: str) -> str:
        rule = bench_rule(check)
        for place, item in self.fitted.items():
            if item.kind == rule:
                return self._id(item, place)
        at = worksheet_machine.WHERE[rule]
        return at if self.laptop.dead or at in self.laptop.spots else "machine"

    # --- What comes of it

    def _read(self, one: Asked, acting: Sequence[Acting]) -> Reading:
        shown = any(
            fault.shows(mood, one.check, self.dice)
            for fault, mood in acting
            if one.place is None or self._felt(fault, one.place)
        )
        odd = self._odd(one)
        failed = shown or odd is not None or self._alarm(one)
        value = odd if odd is not None else self._figure(one.check, failed, shown)
        return _reading(self.tables, one.check, one.at, failed, value)

    def _felt(self, fault: Fault, place: str) -> bool:
        """Whether a fault is felt at a place."""
        seat = fault.kind.seat
        if fault.where in self.laptop.spots:
            return fault.where == place
        if seat in (BOARD, UNKNOWN, FIRMWARE) or (seat == SETTING and fault.kind.of == "*"):
            return fault.touches(place)
        spot = self.laptop.spots[place]
        if fault.where == spot.place.controller:
            return True
        item = self.fitted.get(place)
        return item is not None and fault.where == item.key

    def _odd(self, one: Asked) -> float | None:
        """The figure of a harmless oddity that fails this check; None: there is none."""
        odd, own = self.odd, one.who not in self.foreign
        check = one.check
        item = self.fitted.get(one.place) if one.place is not None else None
        if check == "power.battery-wear" and own and odd.wear > 0.4:
            return round(odd.wear, 3)
        if item is not None and item.kind == "drive" and own:
            counts = {
                "storage.link-history": odd.past_links,
                "storage.medium-errors": odd.past_sectors,
                "storage.self-test-log": int(odd.old_self_test),
            }
            if counts.get(check):
                return float(counts[check])
        cured = self.set_right and check in checks.SWITCHES
        if odd.chatty and check in _CHATTY and not cured and self._mine("chatty", check, 0.6):
            return float(2 + int(exp(1.5 + self.world.own(f"lines/{check}"))))
        if odd.no_firmware and check in _NO_FIRMWARE and own and self._mine("radio", check, 0.8):
            return 1.0
        if odd.noisy and check in _LINKS:
            limit = next(iter(self.tables.checks[check].limits.values()), 1.0)
            count = self.dice.gauss(odd.noisy, sqrt(odd.noisy)) * self.dice.uniform(0.1, 0.5)
            return float(int(count)) if count >= limit else None
        return None

    def _mine(self, what: str, check: str, share: float) -> bool:
        return self.world.own(f"{what}/{check}") < NORMAL.inv_cdf(share)

    def _alarm(self, one: Asked) -> bool:
        """A false alarm: a part of it stays with whoever raised it, a part comes in company."""
        world, check = self.world, one.check
        chance = world.alarm(check, checks.ALARMS.get(check, checks.USUAL_ALARM))
        if self.set_right and check in checks.SWITCHES:
            return False
        stands = check in checks.STANDING
        stays, shared = (1.0, 0.0) if stands else (world.alarm_stays, world.alarm_shared)
        rest = 1.0 - stays - shared
        value = (
            sqrt(stays) * world.own(f"stays/{check}/{one.who or one.at}")
            + sqrt(shared) * world.own(f"subject/{check.partition('.')[0]}")
            + sqrt(max(rest, 0.0)) * self.dice.gauss(0.0, 1.0)
        )
        return value < NORMAL.inv_cdf(chance)

    def _figure(self, check: str, failed: bool, shown: bool) -> float | None:
        """A figure: a fault's is large as a rule, an alarm's just over the limit."""
        row = self.tables.checks[check]
        if check in checks.FIGURES:
            first, last = checks.FIGURES[check][2:] if failed else checks.FIGURES[check][:2]
            return round(first + (last - first) * self.dice.random() ** (1 if shown else 3), 3)
        if row.unit not in checks.COUNTED:
            return None
        if row.unit in checks.FEW_IS_BAD:
            return 0.0 if failed else float(self.dice.randint(3, 25))
        if not failed:
            return 0.0
        limit = next(iter(row.limits.values()), 1.0)
        more = self.dice.lognormvariate(2.0, 1.6) if shown else self.dice.expovariate(1.0)
        return float(int(max(limit, 1.0) + more))

    def _presence(self, silent: set[str]) -> Iterator[Reading]:
        """Whether the part in each place answers."""
        modules = [p for p in self.fitted if self.laptop.spots[p].place.kind == "memory-slot"]
        lost = any(place in silent for place in modules)
        yield _reading(self.tables, "memory.modules-seen", "memory-controller", lost, None)
        for place in self.fitted:
            check = MISSING.get(self.laptop.spots[place].place.kind)
            if check is None or place in modules:
                continue
            gone = place in silent
            if gone or check != "storage.port-answers" or self.world.tells_passes:
                yield _reading(self.tables, check, place, gone, None)
            if gone and self.laptop.spots[place].takes == "wireless-card":
                yield _reading(self.tables, "wireless.present", place, True, None)

    def _told_apart(self, made: list[Reading]) -> list[Reading]:
        """The memory test says in which module wrong words lie only when it found some."""
        failed = {one.check for one in made if one.outcome is Outcome.FAILED}
        follow = {"memory.module-words", "memory.same-bits"}
        if "memory.words" not in failed:
            # Nothing was found: passed for all, or not told of at all.
            good = [msgspec.structs.replace(one, outcome=Outcome.PASSED, value=0.0)
                    if one.check in follow else one for one in made]  # fmt: skip
            tells = self.world.tells_passes
            return [o for o in good if o.check != "memory.same-bits"
                    and (tells or o.check not in follow)]  # fmt: skip
        return [o for o in made if o.check not in follow or o.check in failed]

    def _other(self, one: Reading) -> Reading:
        failed = one.outcome is not Outcome.FAILED
        value = self._figure(one.check, failed, True)
        return _reading(self.tables, one.check, one.at, failed, value)


def ended(cause: str, of_run: int | None) -> list[Reading]:
    """How an earlier start ended: one cause is named, the others are ruled out."""
    return [
        Reading(
            check=f"ended.{name}",
            at="machine",
            outcome=Outcome.FAILED if name == cause else Outcome.PASSED,
            of_run=of_run,
        )
        for name in ENDED
    ]


def _reading(tables: Knowledge, check: str, at: str, failed: bool, value: float | None) -> Reading:
    outcome = Outcome.FAILED if failed else Outcome.PASSED
    unit = tables.checks[check].unit if value is not None else None
    return Reading(check=check, at=at, outcome=outcome, value=value, unit=unit)
