"""Visits to a repair shop: laptops worn and broken by physics, not by tables of chances.

``laptop`` is what a machine is made of and how it ages, ``causes`` what befell it, ``physics``
how it then behaves, ``customer`` what is told of it; ``sensors``, ``sensors_power`` and ``bench``
what a run and a hand read; ``technician`` does the steps, ``visit`` plays them, ``scores`` counts.
Nothing here was taken from the check table's chances or the components' weights: every rate is
from memory of benches or assumed, and says so where it stands. It is not changed to suit the
engine.
"""
