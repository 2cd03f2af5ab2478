"""Invented cases of every sort a report must bear, the odd ones among them."""

from __future__ import annotations

from collections.abc import Callable
from typing import Final

import msgspec

from livecheck.records import (
    Machine,
    NotTested,
    Outcome,
    Reading,
    Record,
    Run,
)
from tests.factories import (
    PORT_2,
    SATA,
    Bench,
    case,
    damaged,
    empty_run,
    location,
    no_fault,
    no_readings,
    no_runs,
    port_and_battery,
    software,
    undetermined,
)

HOSTILE: Final = (
    "<script>alert(1)</script>",
    "</title><img src=x onerror=alert(2)>",
    '" onmouseover="alert(3)',
    "\x1b[31mred\x1b]0;title\x07",
    "gnp.\u202etxt.exe",
    "a\u200bb\u2066c\ufeff",
    "{{ 7 * 7 }}{% raw %}",
    "&lt;b&gt; & \x00 \x7f \x9b",
    "lone \ud800 surrogate",
    "e" + "\u0301" * 40,
)


def _named(record: type[Record], bad: Callable[[int], str]) -> dict[str, str]:
    """A bad string for every field of a record that holds text."""
    fields = (f for f in record.__struct_fields__ if not f.endswith("_bytes"))
    return {field: bad(i) for i, field in enumerate(fields)}


def hostile() -> Bench:
    """Every string a device or a file can choose holds markup, escapes or bidi controls."""
    whole = port_and_battery()

    def bad(number: int) -> str:
        return HOSTILE[number % len(HOSTILE)]

    def spoil(made: Run) -> Run:
        parts = tuple(
            msgspec.structs.replace(
                p, name=bad(i), vendor=bad(i + 1), model=bad(i + 2), serial=bad(i + 3),
                firmware=bad(i + 4), identity=bad(i + 5),
            )
            for i, p in enumerate(made.inventory.parts)
        )  # fmt: skip
        names = [msgspec.structs.replace(c, name=bad(i + 6)) for i, c in
                 enumerate(made.inventory.controllers)]  # fmt: skip
        places = [msgspec.structs.replace(p, name=bad(i)) for i, p in
                  enumerate(made.inventory.places)]  # fmt: skip
        readings = tuple(
            msgspec.structs.replace(
                r, says=bad(i), source=bad(i + 1), details=HOSTILE, conditions=(bad(i + 2),),
                value=bad(i + 3), unit=bad(i + 4), device=bad(i + 5),
            )
            for i, r in enumerate(made.readings)
        )  # fmt: skip
        stock = msgspec.structs.replace(
            made.inventory, parts=parts, controllers=tuple(names), places=tuple(places),
            machine=msgspec.convert(_named(Machine, bad), Machine),
            gaps=HOSTILE,
        )  # fmt: skip
        return msgspec.structs.replace(
            made, inventory=stock, readings=readings, kernel=bad(1), program=bad(2),
            started=bad(3), not_tested=tuple(NotTested(what=h, why=h, at=h) for h in HOSTILE),
            known_good=HOSTILE[:3],
        )  # fmt: skip

    spoilt = location(
        sentence=" ".join(HOSTILE), explanation=HOSTILE, pattern=bad(0), priors=bad(1),
        candidates=tuple(
            msgspec.structs.replace(c, name=bad(i)) for i, c in enumerate(location().candidates)
        ),
    )  # fmt: skip
    return Bench(
        case(ticket=bad(0), id=bad(1), outcome=bad(2), closed=bad(3)),
        tuple(spoil(r) for r in whole.runs), spoilt, whole.knowledge, HOSTILE,
    )  # fmt: skip


def many_readings(number: int = 200) -> Bench:
    """The showcase with many readings in its last run."""
    whole = port_and_battery()
    more = tuple(
        Reading(check=f"sensor.reading-{n:03}", at=PORT_2 if n % 2 else SATA,
                outcome=(Outcome.PASSED, Outcome.NOT_JUDGED)[n % 5 == 0], value=n * 1.37,
                unit="°C", says=f"Sensor {n} reads as it should.", source=f"hwmon{n}",
                why_not="no limit is known" if n % 5 == 0 else None)
        for n in range(number)
    )  # fmt: skip
    last = msgspec.structs.replace(whole.runs[2], readings=(*whole.runs[2].readings, *more))
    return whole._replace(runs=(*whole.runs[:2], last))


def long_names() -> Bench:
    """Names without a space, longer than any column."""
    whole = port_and_battery()
    long = "Tarnel-TS480-" + "X" * 180

    def stretch(made: Run) -> Run:
        parts = tuple(
            msgspec.structs.replace(p, name=long, serial=long, model=long)
            for p in made.inventory.parts
        )
        readings = tuple(
            msgspec.structs.replace(r, source="/sys/" + "y" * 150, value="z" * 90)
            for r in made.readings
        )
        stock = msgspec.structs.replace(made.inventory, parts=parts)
        return msgspec.structs.replace(made, inventory=stock, readings=readings)

    return whole._replace(
        case=case(ticket="T" * 120),
        runs=tuple(stretch(r) for r in whole.runs),
        location=location(sentence=f"The fault lies with {long}."),
    )


VARIANTS: Final = {
    "port-and-battery": port_and_battery,
    "undetermined": undetermined,
    "no-fault": no_fault,
    "software": software,
    "empty-run": empty_run,
    "no-runs": no_runs,
    "no-readings": no_readings,
    "damaged": damaged,
    "hostile": hostile,
    "many-readings": many_readings,
    "long-names": long_names,
}
