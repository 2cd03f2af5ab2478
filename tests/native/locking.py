"""Which tests this user may run: an ordinary one may lock some MiB only (mlock(2))."""

from __future__ import annotations

import mmap
import resource

import pytest

from livecheck.native import _march


def needs_locked(size: int) -> None:
    """Skip where so much memory cannot be locked: less than wanted is taken there, and said."""
    with mmap.mmap(-1, size) as memory:
        try:
            _march.lock(memory)
        except OSError:
            limit = resource.getrlimit(resource.RLIMIT_MEMLOCK)[0]
            pytest.skip(f"this user may lock {limit >> 20} MiB, and {size >> 20} are wanted")
        _march.unlock(memory)
