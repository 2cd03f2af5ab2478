"""The parts sheet: what to search and match by, for each unit to order.

It names no shop and no seller. What no run knows is asked for: read it off the part.
"""

from livecheck.partssheet.qr import qr_lines, qr_svg
from livecheck.partssheet.sheet import PartsSheet, TraitLine, sheets

__all__ = ["PartsSheet", "TraitLine", "qr_lines", "qr_svg", "sheets"]
