"""Meters: what a machine's sensors say, once a second.

One table of channels is found once; every sample holds one value a channel. The
recorder writes samples, the heat probe fits them, the screens draw them.
"""

from livecheck.meters.channels import Channel, Sort
from livecheck.meters.feed import feed
from livecheck.meters.gauges import Gauge, gauges
from livecheck.meters.history import History, Stretch
from livecheck.meters.sample import Sample
from livecheck.meters.sampler import Sampler

__all__ = [
    "Channel",
    "Gauge",
    "History",
    "Sample",
    "Sampler",
    "Sort",
    "Stretch",
    "feed",
    "gauges",
]
