"""Simulated one-bit memories with one fault each, and their enumeration.

The models are those of the march-test literature (van de Goor 1991; the
"fault primitives" <sensitising operation / state after / value read> of
Hamdioui et al., MTDT 2002; both from memory). A model is a memory with
``read`` and ``write``; the march interpreter does not know which it is given.
"""

from __future__ import annotations

from collections.abc import Callable, Iterator, Sequence
from functools import partial
from itertools import permutations, product


class Sound:
    """A memory without fault."""

    def __init__(self, cells: Sequence[int]) -> None:
        self.cells = list(cells)

    def read(self, index: int) -> int:
        return self.cells[index]

    def write(self, index: int, value: int) -> None:
        self.cells[index] = value


class StuckAt(Sound):
    def __init__(self, cells: Sequence[int], victim: int, value: int) -> None:
        super().__init__(cells)
        self.victim, self.value = victim, value
        self.cells[victim] = value

    def write(self, index: int, value: int) -> None:
        self.cells[index] = self.value if index == self.victim else value


class StuckOpen(Sound):
    """The victim is cut off: a read returns what the sense amplifier last held."""

    def __init__(self, cells: Sequence[int], victim: int, sensed: int) -> None:
        super().__init__(cells)
        self.victim, self.sensed = victim, sensed

    def read(self, index: int) -> int:
        if index != self.victim:
            self.sensed = self.cells[index]
        return self.sensed


class Decoder(Sound):
    """An address decoder fault: each address reaches none, one or several cells.

    Reading no cell gives ``floating``; several are wired together (and / or).
    """

    def __init__(
        self,
        cells: Sequence[int],
        reaches: Sequence[Sequence[int]],
        wired_and: bool = False,
        floating: int = 0,
    ) -> None:
        super().__init__(cells)
        self.reaches = reaches
        self.wired_and = wired_and
        self.floating = floating

    def read(self, index: int) -> int:
        seen = [self.cells[cell] for cell in self.reaches[index]]
        if not seen:
            return self.floating
        return int(all(seen) if self.wired_and else any(seen))

    def write(self, index: int, value: int) -> None:
        for cell in self.reaches[index]:
            self.cells[cell] = value


class Primitive(Sound):
    """A one-cell primitive: an operation on the victim in a state goes wrong.

    ``gate`` is None, or (aggressor, state): the primitive acts only while the
    aggressor holds that state, which makes it a two-cell coupling fault.
    """

    def __init__(
        self,
        cells: Sequence[int],
        victim: int,
        write: tuple[int, int] | None = None,
        reading: tuple[int, int, int] | None = None,
        gate: tuple[int, int] | None = None,
    ) -> None:
        super().__init__(cells)
        self.victim = victim
        self.bad_write = write
        """(held, written): the cell ends with the complement of ``written``."""
        self.bad_read = reading
        """(held, held after, returned)."""
        self.gate = gate

    def active(self) -> bool:
        return self.gate is None or self.cells[self.gate[0]] == self.gate[1]

    def read(self, index: int) -> int:
        held = self.cells[index]
        if index == self.victim and self.bad_read is not None and self.active():
            sensitive, after, returned = self.bad_read
            if held == sensitive:
                self.cells[index] = after
                return returned
        return held

    def write(self, index: int, value: int) -> None:
        failing = (
            index == self.victim and self.bad_write == (self.cells[index], value) and self.active()
        )
        self.cells[index] = 1 - value if failing else value


class Disturb(Sound):
    """An operation on the aggressor changes the victim (CFin, CFid, CFds)."""

    def __init__(
        self,
        cells: Sequence[int],
        aggressor: int,
        victim: int,
        trigger: tuple[str, int, int],
        effect: Callable[[int], int],
    ) -> None:
        super().__init__(cells)
        self.aggressor, self.victim = aggressor, victim
        self.trigger = trigger
        """("r", held, held) or ("w", held, written)."""
        self.effect = effect

    def strike(self, kind: str, index: int, value: int) -> None:
        if index == self.aggressor and self.trigger == (kind, self.cells[index], value):
            self.cells[self.victim] = self.effect(self.cells[self.victim])

    def read(self, index: int) -> int:
        self.strike("r", index, self.cells[index])
        return self.cells[index]

    def write(self, index: int, value: int) -> None:
        self.strike("w", index, value)
        self.cells[index] = value


class StateCoupling(Sound):
    """While the aggressor holds ``state`` the victim is held at ``forced`` (CFst)."""

    def __init__(
        self, cells: Sequence[int], aggressor: int, victim: int, state: int, forced: int
    ) -> None:
        super().__init__(cells)
        self.aggressor, self.victim = aggressor, victim
        self.state, self.forced = state, forced
        self.settle()

    def settle(self) -> None:
        if self.cells[self.aggressor] == self.state:
            self.cells[self.victim] = self.forced

    def write(self, index: int, value: int) -> None:
        self.cells[index] = value
        self.settle()


Build = Callable[[Sequence[int]], Sound]
"""Makes the faulty memory from its initial content."""


def _forced_0(_held: int) -> int:
    return 0


def _forced_1(_held: int) -> int:
    return 1


def _inverted(held: int) -> int:
    return 1 - held


def _stuck_at(n: int) -> Iterator[Build]:
    for victim, value in product(range(n), (0, 1)):
        yield partial(StuckAt, victim=victim, value=value)


def _stuck_open(n: int) -> Iterator[Build]:
    for victim, sensed in product(range(n), (0, 1)):
        yield partial(StuckOpen, victim=victim, sensed=sensed)


def _decoder(n: int) -> Iterator[Build]:
    """No cell; wrong cell; two cells with an orphan address; two cells."""
    for a, floating in product(range(n), (0, 1)):
        yield partial(Decoder, reaches=_mapped(n, {a: []}), floating=floating)
    for a, b in permutations(range(n), 2):
        yield partial(Decoder, reaches=_mapped(n, {a: [b]}))
        for wired_and in (True, False):
            yield partial(Decoder, reaches=_mapped(n, {a: [a, b]}), wired_and=wired_and)
            for floating in (0, 1):
                yield partial(
                    Decoder,
                    reaches=_mapped(n, {a: [a, b], b: []}),
                    wired_and=wired_and,
                    floating=floating,
                )


def _mapped(n: int, wrong: dict[int, list[int]]) -> list[list[int]]:
    return [wrong.get(address, [address]) for address in range(n)]


def _one_cell(
    n: int,
    writes: Sequence[tuple[int, int]] = (),
    reads: Sequence[tuple[int, int, int]] = (),
) -> Iterator[Build]:
    for victim in range(n):
        for write in writes:
            yield partial(Primitive, victim=victim, write=write)
        for reading in reads:
            yield partial(Primitive, victim=victim, reading=reading)


def _gated(
    n: int,
    writes: Sequence[tuple[int, int]] = (),
    reads: Sequence[tuple[int, int, int]] = (),
) -> Iterator[Build]:
    for (aggressor, victim), state in product(permutations(range(n), 2), (0, 1)):
        gate = (aggressor, state)
        for write in writes:
            yield partial(Primitive, victim=victim, write=write, gate=gate)
        for reading in reads:
            yield partial(Primitive, victim=victim, reading=reading, gate=gate)


def _disturb(
    n: int, triggers: Sequence[tuple[str, int, int]], effects: Sequence[Callable[[int], int]]
) -> Iterator[Build]:
    pairs = permutations(range(n), 2)
    for (aggressor, victim), trigger, effect in product(pairs, triggers, effects):
        yield partial(Disturb, aggressor=aggressor, victim=victim, trigger=trigger, effect=effect)


def _state_coupling(n: int) -> Iterator[Build]:
    for (aggressor, victim), state, forced in product(permutations(range(n), 2), (0, 1), (0, 1)):
        yield partial(StateCoupling, aggressor=aggressor, victim=victim, state=state, forced=forced)


_TRANSITIONS = ((0, 1), (1, 0))
_SAME = ((0, 0), (1, 1))
_RDF = ((0, 1, 1), (1, 0, 0))
_DRDF = ((0, 1, 0), (1, 0, 1))
_IRF = ((0, 0, 1), (1, 1, 0))
_FLIPS = (("w", 0, 1), ("w", 1, 0))
_ANY_OP = (("r", 0, 0), ("r", 1, 1), ("w", 0, 0), ("w", 1, 1), *_FLIPS)
_BOTH = (_forced_0, _forced_1)

MODELS: dict[str, Callable[[int], Iterator[Build]]] = {
    "SAF": _stuck_at,
    "TF": partial(_one_cell, writes=_TRANSITIONS),
    "AF": _decoder,
    "CFin": partial(_disturb, triggers=_FLIPS, effects=(_inverted,)),
    "CFid": partial(_disturb, triggers=_FLIPS, effects=_BOTH),
    "CFst": _state_coupling,
    "WDF": partial(_one_cell, writes=_SAME),
    "RDF": partial(_one_cell, reads=_RDF),
    "DRDF": partial(_one_cell, reads=_DRDF),
    "IRF": partial(_one_cell, reads=_IRF),
    "CFds": partial(_disturb, triggers=_ANY_OP, effects=_BOTH),
    "CFtr": partial(_gated, writes=_TRANSITIONS),
    "CFwd": partial(_gated, writes=_SAME),
    "CFrd": partial(_gated, reads=_RDF),
    "CFdr": partial(_gated, reads=_DRDF),
    "CFir": partial(_gated, reads=_IRF),
    "SOF": _stuck_open,
}
"""Model name -> every instance of it in a memory of n cells."""
