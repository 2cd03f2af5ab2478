"""livecheck: which part of a laptop is at fault, and what to do next."""

from typing import Final

__version__: Final = "0.1.0"
