"""March notation: text -> typed elements, and the published tests as a table.

A march test is a list of elements; an element is an address order and the
operations done at one cell before the next cell is visited. Two spellings are
read, and may be mixed::

    {⇕(w0);⇑(r0,w1);⇓(r1,w0)}
    {any(w0);up(r0,w1);down(r1,w0)}

``0`` and ``1`` name the background and its complement, not a bit: with the
background "checkerboard", ``w1`` writes the inverse checkerboard.
"""

from __future__ import annotations

import enum
import re

import msgspec


class NotationError(ValueError):
    """The text is no march test; the message names the offending piece."""


class Order(enum.StrEnum):
    """The order in which an element visits the addresses."""

    UP = "up"
    DOWN = "down"
    ANY = "any"
    """The element is right in both orders; whoever runs it chooses."""


class Op(msgspec.Struct, frozen=True):
    """One operation at one cell: a write of, or a read that expects, the bit."""

    write: bool
    bit: int

    def __str__(self) -> str:
        return f"{'w' if self.write else 'r'}{self.bit}"


class Element(msgspec.Struct, frozen=True):
    order: Order
    ops: tuple[Op, ...]

    def __str__(self) -> str:
        return f"{_ARROW[self.order]}({','.join(map(str, self.ops))})"


class MarchTest(msgspec.Struct, frozen=True):
    name: str
    elements: tuple[Element, ...]
    source: str
    """Where the definition is from, and how surely."""

    @property
    def operations(self) -> int:
        """Operations per cell: the 10 in "10n"."""
        return sum(len(element.ops) for element in self.elements)

    def __str__(self) -> str:
        return "{" + ";".join(map(str, self.elements)) + "}"

    def ascii(self) -> str:
        """The same test for a console font without arrows."""
        parts = (f"{e.order.value}({','.join(map(str, e.ops))})" for e in self.elements)
        return "{" + ";".join(parts) + "}"


_ARROW = {Order.UP: "⇑", Order.DOWN: "⇓", Order.ANY: "⇕"}
_ORDER = {
    **{arrow: order for order, arrow in _ARROW.items()},
    **{order.value: order for order in Order},
    "↑": Order.UP,
    "↓": Order.DOWN,
    "↕": Order.ANY,
}
_ELEMENT = re.compile(r"\s*([^\s(]+)\s*\(([^()]*)\)\s*")
_OP = re.compile(r"\s*([rw])\s*([01])\s*")

MAX_OPS = 16
"""Operations one element may have; the kernel keeps them in a fixed array."""


def parse(text: str, name: str = "unnamed", source: str = "given") -> MarchTest:
    """Read a march test in either spelling; braces are optional.

    Raises NotationError for anything else, and for a test that reads a value
    no earlier operation wrote (it would fail on sound memory).
    """
    body = text.strip()
    if body.startswith("{") != body.endswith("}"):
        raise NotationError(f"unbalanced braces in {text!r}")
    elements = tuple(map(_element, body.strip("{}").split(";")))
    _check_values(elements)
    return MarchTest(name=name, elements=elements, source=source)


def _element(text: str) -> Element:
    match = _ELEMENT.fullmatch(text)
    if match is None:
        raise NotationError(f"not a march element: {text!r} (expected such as 'up(r0,w1)')")
    order = _ORDER.get(match[1].lower())
    if order is None:
        raise NotationError(f"unknown address order {match[1]!r} (use any, up, down or ⇕ ⇑ ⇓)")
    ops = tuple(map(_op, match[2].split(",")))
    if len(ops) > MAX_OPS:
        raise NotationError(f"{len(ops)} operations in {text!r}; at most {MAX_OPS}")
    return Element(order=order, ops=ops)


def _op(text: str) -> Op:
    match = _OP.fullmatch(text)
    if match is None:
        raise NotationError(f"not an operation: {text!r} (expected r0, r1, w0 or w1)")
    return Op(write=match[1] == "w", bit=int(match[2]))


def _check_values(elements: tuple[Element, ...]) -> None:
    held: int | None = None
    for element in elements:
        for op in element.ops:
            if not op.write and op.bit != held:
                known = "nothing" if held is None else str(held)
                raise NotationError(f"{element} reads {op.bit} where {known} was written")
            held = op.bit


_VAN_DE_GOOR = "van de Goor, Testing Semiconductor Memories, 1991 (from memory)"
_HAMDIOUI = "Hamdioui, van de Goor, Rodgers, MTDT 2002 (from memory)"
_MARCH_LR = "van de Goor, Gaydadjiev et al., VTS 1996 (from memory; existence seen in a record)"

TESTS: dict[str, MarchTest] = {
    name: parse(text, name, source)
    for name, text, source in (
        ("MSCAN", "{⇕(w0);⇕(r0);⇕(w1);⇕(r1)}", _VAN_DE_GOOR),
        ("MATS", "{⇕(w0);⇕(r0,w1);⇕(r1)}", _VAN_DE_GOOR),
        ("MATS+", "{⇕(w0);⇑(r0,w1);⇓(r1,w0)}", _VAN_DE_GOOR),
        ("MATS++", "{⇕(w0);⇑(r0,w1);⇓(r1,w0,r0)}", _VAN_DE_GOOR),
        ("March X", "{⇕(w0);⇑(r0,w1);⇓(r1,w0);⇕(r0)}", _VAN_DE_GOOR),
        ("March Y", "{⇕(w0);⇑(r0,w1,r1);⇓(r1,w0,r0);⇕(r0)}", _VAN_DE_GOOR),
        ("March C-", "{⇕(w0);⇑(r0,w1);⇑(r1,w0);⇓(r0,w1);⇓(r1,w0);⇕(r0)}", _VAN_DE_GOOR),
        ("PMOVI", "{⇓(w0);⇑(r0,w1,r1);⇑(r1,w0,r0);⇓(r0,w1,r1);⇓(r1,w0,r0)}", _VAN_DE_GOOR),
        ("March U", "{⇕(w0);⇑(r0,w1,r1,w0);⇑(r0,w1);⇓(r1,w0,r0,w1);⇓(r1,w0)}", _VAN_DE_GOOR),
        ("March LR", "{⇕(w0);⇓(r0,w1);⇑(r1,w0,r0,w1);⇑(r1,w0);⇑(r0,w1,r1,w0);⇑(r0)}", _MARCH_LR),
        (
            "March A",
            "{⇕(w0);⇑(r0,w1,w0,w1);⇑(r1,w0,w1);⇓(r1,w0,w1,w0);⇓(r0,w1,w0)}",
            _VAN_DE_GOOR,
        ),
        (
            "March B",
            "{⇕(w0);⇑(r0,w1,r1,w0,r0,w1);⇑(r1,w0,w1);⇓(r1,w0,w1,w0);⇓(r0,w1,w0)}",
            _VAN_DE_GOOR,
        ),
        (
            "March SS",
            "{⇕(w0);⇑(r0,r0,w0,r0,w1);⇑(r1,r1,w1,r1,w0);⇓(r0,r0,w0,r0,w1);⇓(r1,r1,w1,r1,w0);⇕(r0)}",
            _HAMDIOUI,
        ),
    )
}
