"""A laptop with a panel on eDP, a backlight and a channel that its registers are read over."""

from __future__ import annotations

from dataclasses import replace

from tests.displayport.sink import Sink
from tests.inventory import edid_builder
from tests.testbeds import devices, laptops
from tests.testbeds.bed import Bed, Node

EDP = f"{devices.ROOT}/0000:00:02.0/drm/card0/card0-eDP-1"


def with_panel(sink: Sink | None = None, serial: int = 0x1234, level: int = 600) -> Bed:
    """The laptop with a SATA drive, and its panel; ``sink``: how the panel's link does."""
    panel = edid_builder.panel(serial=serial, words=f"SN-{serial:04X}")
    screen = sink or Sink()
    screen.edid = lambda asked: panel
    light = {"type": "raw", "brightness": str(level), "max_brightness": "1000", "bl_power": "0"}
    nodes = (
        Node("drm", EDP, {"status": "connected", "enabled": "enabled", "edid": panel,
                          "i2c-5/name": "AUX A"}),
        Node("drm_dp_aux_dev", f"{EDP}/drm_dp_aux0", {}, node=True),
        Node("backlight", f"{EDP}/panel_light", light),
    )  # fmt: skip
    bed = laptops.ahci()
    screens = {"drm_dp_aux0": screen, "i2c-5": screen}
    return replace(bed, nodes=(*bed.nodes, *nodes), screens=screens)
