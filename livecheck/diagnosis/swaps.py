"""What changed between the runs of a case, found by identity and never typed in."""

from __future__ import annotations

from collections.abc import Sequence

from livecheck.diagnosis.fitting import Fitting, fittings
from livecheck.records import Run, Swap


def between(runs: Sequence[Run]) -> tuple[Swap, ...]:
    """Every change between consecutive runs, in order.

    A run in the shop's known-good machine is compared only by the parts that came
    from the suspect machine; the run after it with the last run before it.
    """
    return changes(fittings(runs))


def changes(found: Sequence[Fitting]) -> tuple[Swap, ...]:
    """The same, of fittings that are known already."""
    swaps: list[Swap] = []
    home: Fitting | None = None
    for fitted in found:
        if home is not None and fitted.run.elsewhere:
            swaps.extend(_lent(home, fitted))
        elif home is not None:
            swaps.extend(_changed(home, fitted))
        if not fitted.run.elsewhere:
            home = fitted
    return tuple(swaps)


def _lent(home: Fitting, bench: Fitting) -> list[Swap]:
    own = set(home.parts.values())
    return [
        _swap(home, bench, "moved", place, None, key)
        for place, key in sorted(bench.parts.items())
        if key in own
    ]


def _changed(old: Fitting, new: Fitting) -> list[Swap]:
    swaps: list[Swap] = []
    if old.board != new.board:
        swaps.append(_swap(old, new, "board replaced", "mainboard", "mainboard", "mainboard"))
    stayed = set(old.parts.values()) & set(new.parts.values())
    for place in sorted({*old.parts, *new.parts, *new.run.reseated}):
        before, after = old.parts.get(place), new.parts.get(place)
        if before == after:
            if place in new.run.reseated and after is not None:
                swaps.append(_swap(old, new, "reseated", place, before, after))
        elif before in stayed or after in stayed:
            swaps.append(_swap(old, new, "moved", place, before, after))
        elif before is None:
            swaps.append(_swap(old, new, "added", place, before, after))
        else:
            change = "removed" if after is None else "swapped"
            swaps.append(_swap(old, new, change, place, before, after))
    return swaps


def _swap(
    old: Fitting, new: Fitting, change: str, place: str, before: str | None, after: str | None
) -> Swap:
    return Swap(
        from_run=old.run.number,
        to_run=new.run.number,
        change=change,
        place=place,
        before=before,
        after=after,
        part_kind=kind_of(before or after or "", old, new),
    )


def kind_of(key: str, *found: Fitting) -> str | None:
    """Kind of the part behind a key, by the inventories it was seen in."""
    for fitted in found:
        for part in fitted.run.inventory.parts:
            if fitted.keys[part.id] == key:
                return part.kind
    plain = key.removeprefix("bench/")
    head = plain.partition("@")[0] if "@" in plain else plain.partition(":")[0]
    return head or None
