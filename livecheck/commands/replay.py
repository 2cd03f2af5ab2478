"""A machine recorded for replay, and the invented cases replayed."""

from __future__ import annotations

import argparse
from pathlib import Path

from livecheck import __version__, capture, knowledge
from livecheck.commands.common import DONE, Subparsers
from livecheck.commands.files import writable, write_failed
from livecheck.commands.output import print_path
from livecheck.live_host import LiveHost


def add(commands: Subparsers) -> None:
    """Add ``capture`` and ``demo``."""
    recorder = commands.add_parser("capture", help="record this machine for replay")
    recorder.add_argument("file", metavar="FILE", type=Path, help="to be written")
    recorder.set_defaults(command=_capture)

    demo = commands.add_parser("demo", help="invented cases with swaps, start to report")
    demo.add_argument("--to", metavar="DIR", type=Path, default=Path("reports/demo"),
                      help="a folder for their cases; without: reports/demo")  # fmt: skip
    demo.set_defaults(command=_demo)


def _capture(options: argparse.Namespace) -> int:
    from livecheck.run import record_machine

    file = writable(options.file)
    recording = record_machine(LiveHost(), knowledge.load())
    try:
        capture.save(file, recording, __version__)
    except OSError as error:
        raise write_failed(error, options.file) from error
    print_path(options.file)
    return DONE


def _demo(options: argparse.Namespace) -> int:
    from livecheck import demo, printing

    tables = knowledge.load()
    for step in demo.play(options.to, tables):
        print(printing.demo_step(step, tables))
    return DONE
