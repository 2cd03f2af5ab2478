"""Build the demonstration's captures (``tests.remake`` runs it).

Each bed is recorded while the passive probes run on it, as ``livecheck capture`` does.
The beds' clocks stand still and the answers are sorted, so that the same program
gives the same captures. Build again whenever a probe asks something new.
"""

from __future__ import annotations

import gzip
from pathlib import Path
from typing import Final

import msgspec

from livecheck import demo, knowledge
from livecheck.capture import Capture
from livecheck.run import record_machine
from tests.testbeds.bed import Bed, BedHost
from tests.testbeds.stories import RUNS

FOLDER: Final = Path(demo.__file__).parent


def contents(bed: Bed) -> bytes:
    """The JSON of a bed's capture."""
    recorded = record_machine(BedHost(bed), knowledge.load())
    scopes = {
        scope: {
            question: [msgspec.Raw(answer) for answer in answers]
            for question, answers in sorted(seen.items())
        }
        for scope, seen in sorted(recorded.scopes.items())
    }
    return msgspec.json.encode(Capture(program="demonstration", scopes=scopes))


def main() -> None:
    for name, bed in RUNS.items():
        path = FOLDER / f"{name}.capture.gz"
        path.write_bytes(gzip.compress(contents(bed()), 9, mtime=0))
        print(path.name, path.stat().st_size, "bytes")
