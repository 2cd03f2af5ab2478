"""A host of given files that also has a kernel log."""

from __future__ import annotations

from collections.abc import Mapping, Sequence

from livecheck.host import KernelMessage
from tests.inventory.fake_host import FakeHost


class Files(FakeHost):
    """Answers from a mapping path -> content, and with the given messages."""

    def __init__(
        self, files: Mapping[str, str | bytes | int], log: Sequence[KernelMessage] = ()
    ) -> None:
        super().__init__(files)
        self.log = tuple(log)

    def kernel_log(self) -> tuple[KernelMessage, ...]:
        return self.log
