"""Names and bits of the kernel's own header, read from its text."""

from __future__ import annotations

import re
from pathlib import Path
from typing import Final

TEXT: Final = Path(__file__).with_name("drm_dp.h").read_text("utf-8")
"""Lines of include/drm/display/drm_dp.h of Linux 6.12 (Debian's linux-headers 6.12.117)."""


def _value(words: str) -> int:
    bare = re.sub(r"/\*.*", "", words).strip().strip("()")
    if "<<" in bare:
        number, shift = bare.split("<<")
        return int(number, 0) << int(shift, 0)
    return int(bare, 0)


NAMES: Final[dict[str, int]] = {
    found[1]: _value(found[2])
    for found in re.finditer(r"^#\s*define\s+(DP_\w+)\s+(.+)$", TEXT, re.MULTILINE)
}
"""``DP_LANE_COUNT_SET`` -> 0x101."""
