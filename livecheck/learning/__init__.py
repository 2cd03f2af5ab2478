"""What confirmed cases teach the tables, by a method anyone can follow; reads and writes nothing.

``lessons``: what one case has to say, weighed by how far its outcome can be believed. ``update``:
the one formula, of a chance worth so many cases. ``fit``: from the table to the shop as a whole,
and from there to each figure. ``held_out``: whether cases that had no part in it are judged better
by the new figures. ``apply``: the tables with them.

Left out: what came after the first thing that was done by hand, since steps are chosen by what
was read before; minutes, as no record tells them; the shares of faults that come and go and that
no check sees, which are taken as the table has them; other shops' cases; figures for one board
model alone.
"""
