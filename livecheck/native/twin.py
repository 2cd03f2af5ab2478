"""The march interpreter in plain Python: the oracle of the C kernel.

It runs over anything that can read and write a cell by number, so the same
interpreter proves the fault coverage on a simulated faulty memory and the
order of operations of the C kernel. It is never used to test real memory:
cached and slow, it would report sound memory that was hardly touched.
"""

from __future__ import annotations

from collections.abc import Callable, Iterable, Iterator
from typing import Generic, Protocol, TypeVar

import msgspec

from .notation import Element, Order

Cell = TypeVar("Cell")


class Memory(Protocol[Cell]):
    """What the interpreter needs of a memory: cells by number."""

    def read(self, index: int) -> Cell: ...

    def write(self, index: int, value: Cell) -> None: ...


class Mismatch(msgspec.Struct, Generic[Cell], frozen=True):
    """A read that did not return what was written."""

    element: int
    op: int
    index: int
    expected: Cell
    read: Cell
    again: Cell
    """A second read, done at once: equal to ``read`` when the wrong value is stored."""


def run(
    elements: Iterable[Element],
    memory: Memory[Cell],
    size: int,
    value: Callable[[int, int], Cell],
    *,
    any_order: Order = Order.UP,
) -> Iterator[Mismatch[Cell]]:
    """Run the elements over cells 0..size-1, yielding every wrong read.

    ``value(index, bit)`` is the background: what cell ``index`` holds for
    ``bit``. ``any_order`` is the direction taken where the test leaves it open.
    """
    for number, element in enumerate(elements):
        order = any_order if element.order is Order.ANY else element.order
        cells = range(size - 1, -1, -1) if order is Order.DOWN else range(size)
        for index in cells:
            for position, op in enumerate(element.ops):
                wanted = value(index, op.bit)
                if op.write:
                    memory.write(index, wanted)
                    continue
                got = memory.read(index)
                if got != wanted:
                    yield Mismatch(
                        element=number,
                        op=position,
                        index=index,
                        expected=wanted,
                        read=got,
                        again=memory.read(index),
                    )
