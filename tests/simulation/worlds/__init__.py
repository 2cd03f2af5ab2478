"""Machines in worlds that the engine's tables know nothing of.

Every case has a world of its own: how often faults show, how often sound machines raise an
alarm and which alarms come together, what is odd about the machine beside its fault, and
how careful the technician is, all drawn anew from wide distributions (``draw``). The
faults (``kinds_parts``, ``kinds_board``, ``kinds_other``) include leads, small boards,
contacts that outlive a swap, hung controllers, settings, and causes no table has.

These are referees. They were written before the engine was changed to meet them and are
left alone since: a figure here is not changed to make a score better or worse. All
figures are assumed, wide on purpose, as no public split of a repair bench is known to us.
What follows the record format (``told``, ``machine``) or a new step of the engine
(``technician``: the documented meaning of its words) may be adapted; what is drawn may not.
"""
