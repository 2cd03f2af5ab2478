"""Where cases are kept: the shop drive, and files that survive a power cut."""

from livecheck.casefile import atomic
from livecheck.casefile.folder import CaseFolder, Loaded
from livecheck.casefile.shop import Shop, ShopError, find_shop

__all__ = ["CaseFolder", "Loaded", "Shop", "ShopError", "atomic", "find_shop"]
