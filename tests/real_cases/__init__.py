"""Fault cases from public threads, played through the program's own path.

A file of ``storage/`` or ``other/`` is one case: the address of its thread, the kernel's
lines and the drives' figures as posted there, what was told to have been wrong, what
cured it, and the sides an honest tool may name. ``python -m tests.real_cases --json``
plays them all and prints the score by class.

``storage/``: lines are ``layer[/layer][~ not serious][? either] place | line``.
``other/``: lines are ``seconds|priority|layer[/layer]|kind of component|line``.
``old:`` marks wordings of kernels before 6.1. Layer ``noise`` is a line that must neither
count as serious nor be left unknown.

``second/`` holds as many again, written down (lines, layers, places, sides) before the
program had read any of them; ``second/first_score.json`` is what came of that first reading
and is never written anew. So are ``third/`` to ``thirteenth/``.
"""
