"""What changed between the runs of a case, found by identity and never typed in."""

from __future__ import annotations

from collections.abc import Sequence

from livecheck.records import Run, Swap
from livecheck.topology.configuration import Configuration
from livecheck.topology.history import configurations
from livecheck.topology.ids import MAINBOARD, ComponentId


def between(runs: Sequence[Run]) -> tuple[Swap, ...]:
    """Every change between consecutive runs, in order.

    A run in the shop's known-good machine is compared only by the parts that came
    from the suspect machine; the run after it with the last run before it.
    """
    return changes(configurations(runs))


def changes(found: Sequence[Configuration]) -> tuple[Swap, ...]:
    """The same, of configurations that are known already."""
    swaps: list[Swap] = []
    home: Configuration | None = None
    for now in found:
        if home is not None:
            pair = _Pair(home, now)
            swaps += pair.lent() if now.in_known_good_machine else pair.changed()
        if not now.in_known_good_machine:
            home = now
    return tuple(swaps)


class _Pair:
    """Two configurations that follow each other."""

    def __init__(self, old: Configuration, new: Configuration) -> None:
        self._old, self._new = old, new

    def lent(self) -> list[Swap]:
        """Parts of the machine that sit in the known-good one."""
        own = set(self._old.parts.values())
        return [
            self._swap("moved", place, None, part)
            for place, part in sorted(self._new.parts.items())
            if part in own
        ]

    def changed(self) -> list[Swap]:
        """What is otherwise in the machine itself; the bench's own stick is no part of it."""
        old, new = self._old, self._new
        bench = {
            one.ids.get(part.id) for one in (old, new) for part in one.run.inventory.parts
            if part.bench_own
        }  # fmt: skip
        swaps: list[Swap] = []
        if old.scope != new.scope:
            board = ComponentId(key=MAINBOARD)
            swaps.append(self._swap("board replaced", MAINBOARD, board, board))
        stayed = set(old.parts.values()) & set(new.parts.values())
        for place in sorted({*old.parts, *new.parts, *new.run.reseated}):
            held = (one.parts.get(place) for one in (old, new))
            before, after = (None if part in bench else part for part in held)
            if before != after or (place in new.run.reseated and after is not None):
                swaps.append(self._swap(_change(before, after, stayed), place, before, after))
        return swaps

    def _swap(
        self, change: str, place: str, before: ComponentId | None, after: ComponentId | None
    ) -> Swap:
        part = before or after
        kinds = {**self._new.kinds, **self._old.kinds}
        return Swap(
            from_run=self._old.run.number,
            to_run=self._new.run.number,
            change=change,
            place=place,
            before=str(before) if before is not None else None,
            after=str(after) if after is not None else None,
            part_kind=MAINBOARD if place == MAINBOARD else kinds.get(part) if part else None,
        )


def _change(before: ComponentId | None, after: ComponentId | None, stayed: set[ComponentId]) -> str:
    """What happened at a place; ``stayed``: parts that were in before and are still."""
    if before == after:
        return "reseated"
    if before in stayed or after in stayed:
        return "moved"
    if before is None:
        return "added"
    return "removed" if after is None else "swapped"
