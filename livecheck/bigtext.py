"""Words to be read from across the bench, drawn in full blocks.

The letters are this project's own, five cells high. They are made of the one block
glyph that every console font holds, and are drawn as large as they fit.
"""

from __future__ import annotations

from collections.abc import Sequence
from typing import Final

HEIGHT: Final = 5
GAP: Final = 1
"""Cells between two letters and between two lines, at scale one."""
BLOCK: Final = "█"

_DRAWN: Final = """
A .#. #.# ### #.# #.#
B ##. #.# ##. #.# ##.
C .## #.. #.. #.. .##
D ##. #.# #.# #.# ##.
E ### #.. ##. #.. ###
F ### #.. ##. #.. #..
G .## #.. #.# #.# .##
H #.# #.# ### #.# #.#
I # # # # #
J ..# ..# ..# #.# .#.
K #.# #.# ##. #.# #.#
L #.. #.. #.. #.. ###
M #...# ##.## #.#.# #...# #...#
N #..# ##.# #.## #..# #..#
O ### #.# #.# #.# ###
P ### #.# ### #.. #..
Q ###. #.#. #.#. #.#. ####
R ##. #.# ##. #.# #.#
S .## #.. .#. ..# ##.
T ### .#. .#. .#. .#.
U #.# #.# #.# #.# ###
V #.# #.# #.# #.# .#.
W #...# #...# #.#.# ##.## #...#
X #.# #.# .#. #.# #.#
Y #.# #.# .#. .#. .#.
Z ### ..# .#. #.. ###
0 .#. #.# #.# #.# .#.
1 .# ## .# .# .#
2 ##. ..# .#. #.. ###
3 ##. ..# .#. ..# ##.
4 #.# #.# ### ..# ..#
5 ### #.. ##. ..# ##.
6 .## #.. ### #.# ###
7 ### ..# .#. .#. .#.
8 ### #.# ### #.# ###
9 ### #.# ### ..# ##.
% #..# ...# .##. #... #..#
. . . . . #
, .. .. .. .# #.
: . # . # .
- ... ... ### ... ...
+ ... .#. ### .#. ...
/ ..# ..# .#. #.. #..
> #.. .#. ..# .#. #..
< ..# .#. #.. .#. ..#
= ... ### ... ### ...
? ##. ..# .#. ... .#.
! # # # . #
( .# #. #. #. .#
) #. .# .# .# #.
"""
GLYPHS: Final = {row[0]: tuple(row[2:].split(" ")) for row in _DRAWN.strip().splitlines()}
SPACE: Final = ("..",) * HEIGHT
ODD: Final = GLYPHS["?"]
"""For what is not drawn."""


def width(words: str) -> int:
    """Cells a line takes at scale one."""
    return sum(len(_glyph(char)[0]) + GAP for char in words) - GAP if words else 0


def _glyph(char: str) -> tuple[str, ...]:
    return SPACE if char.isspace() else GLYPHS.get(char.upper(), ODD)


def drawn(words: str, across: int = 1, down: int = 1) -> list[str]:
    """One line of words as rows of blocks and blanks, each dot ``across`` by ``down`` cells."""
    rows = []
    for y in range(HEIGHT):
        dots = ("." * GAP).join(_glyph(char)[y] for char in words)
        row = "".join((BLOCK if dot == "#" else " ") * across for dot in dots)
        rows += [row.rstrip()] * down
    return rows


def wrapped(words: str, cells: int) -> list[str]:
    """Words in lines that fit at scale one; a word too long for a line is cut."""
    lines: list[str] = []
    for word in words.split():
        cut = word
        while width(cut) > cells:
            cut = cut[:-1]
        longer = f"{lines[-1]} {cut}" if lines else cut
        if lines and width(longer) <= cells:
            lines[-1] = longer
        else:
            lines.append(cut)
    return lines


def page(texts: Sequence[str], cells: int, rows: int) -> list[str]:
    """Several lines as large as fits into ``cells`` by ``rows``; the last ones give way.

    Every line is drawn at its own width, all of them at one height.
    """
    lines = [line for text in texts for line in wrapped(text, cells)]
    room = max(1, (rows + GAP) // (HEIGHT + GAP))
    lines = lines[:room]
    if not lines:
        return []
    down = max(1, min(4, (rows + GAP) // (len(lines) * (HEIGHT + GAP))))
    found: list[str] = []
    for line in lines:
        across = max(1, min(2 * down, cells // max(1, width(line))))
        found += [*drawn(line, across, down), *[""] * (GAP * down)]
    return found[:rows]
