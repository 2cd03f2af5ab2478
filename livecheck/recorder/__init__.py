"""The recorder: a line a second that outlives a power cut, and what the last one says.

A small process writes what every meter shows to the run's folder, flushed each second.
A record without a proper end is found when the same machine is started again, and judged.
"""

from livecheck.recorder.process import Recorder, RecordingSummary, start

__all__ = ["Recorder", "RecordingSummary", "start"]
