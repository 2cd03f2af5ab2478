"""Small circuits with a weak fault model: a faulty gate's output may be anything.

Written for the tests alone, so that the diagnosis code is checked against circuits
it does not know.
"""

from __future__ import annotations

import operator
from collections.abc import Callable, Mapping
from itertools import product
from typing import NamedTuple

Values = Mapping[str, int]


class Gate(NamedTuple):
    """A two-input gate: ``output = function(left, right)``."""

    function: Callable[[int, int], int]
    left: str
    right: str
    output: str


Circuit = Mapping[str, Gate]

POLYBOX: Circuit = {
    "M1": Gate(operator.mul, "A", "C", "X"),
    "M2": Gate(operator.mul, "B", "D", "Y"),
    "M3": Gate(operator.mul, "C", "E", "Z"),
    "A1": Gate(operator.add, "X", "Y", "F"),
    "A2": Gate(operator.add, "Y", "Z", "G"),
}
POLYBOX_INPUTS = {"A": 3, "B": 2, "C": 2, "D": 3, "E": 3}

FULL_ADDER: Circuit = {
    "X1": Gate(operator.xor, "a", "b", "p"),
    "X2": Gate(operator.xor, "p", "c", "sum"),
    "A1": Gate(operator.and_, "a", "b", "q"),
    "A2": Gate(operator.and_, "c", "p", "r"),
    "O1": Gate(operator.or_, "q", "r", "carry"),
}

MANUAL_ADDER: Circuit = {
    "F1": Gate(operator.and_, "X", "Cin", "U1"),
    "F2": Gate(operator.and_, "Y", "U3", "U2"),
    "F3": Gate(operator.or_, "U1", "U2", "Cout"),
    "F4": Gate(operator.xor, "X", "Cin", "U3"),
    "F5": Gate(operator.xor, "Y", "U3", "Sum"),
}


def consistent_boolean(circuit: Circuit, seen: Values) -> Callable[[frozenset[str]], bool]:
    """Whether some 0/1 values at all points fit, with only the sound gates obeyed."""
    points = sorted({p for gate in circuit.values() for p in gate[1:]} - set(seen))

    def check(sound: frozenset[str]) -> bool:
        for bits in product((0, 1), repeat=len(points)):
            values = {**seen, **dict(zip(points, bits, strict=True))}
            if all(_obeys(circuit[name], values) for name in sound):
                return True
        return False

    return check


def polybox_values(sound: frozenset[str], seen: Values) -> dict[str, int] | None:
    """What must hold at the polybox's points when ``sound`` work; None: a contradiction.

    The circuit is linear once its inputs are known, and every adder can be solved
    for any one of its three points, so propagation to a fixed point is complete
    unless two adders share two unknown points, which they do not here.
    """
    values = dict(seen)
    while True:
        before = len(values)
        for name in sound:
            gate = POLYBOX[name]
            left, right, out = (values.get(p) for p in gate[1:])
            if left is not None and right is not None:
                computed = gate.function(left, right)
                if values.setdefault(gate.output, computed) != computed:
                    return None
            elif gate.function is operator.add and out is not None:
                if left is not None:
                    values[gate.right] = out - left
                elif right is not None:
                    values[gate.left] = out - right
        if len(values) == before:
            return values


def _obeys(gate: Gate, values: Values) -> bool:
    return gate.function(values[gate.left], values[gate.right]) == values[gate.output]
