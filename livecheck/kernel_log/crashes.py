"""The kernel's own faults: the usual face of bad memory, of a bad processor, or of a driver.

Wordings: Linux 4.4 to 6.12 ``arch/x86/mm/fault.c``, ``arch/x86/kernel/traps.c``, ``dumpstack.c``,
``kernel/panic.c``, ``watchdog.c``, ``hung_task.c``, ``rcu/tree_stall.h``, ``mm/memory.c``,
``mm/page_alloc.c``, ``mm/slub.c``, ``lib/list_debug.c``, ``kernel/irq/spurious.c``.
"""

from __future__ import annotations

import re
from typing import Final

from livecheck.kernel_log.rules import Family, chatter, rule
from livecheck.kernel_log.words import OTHER

KERNEL: Final = "kernel"

STALL: Final = "a processor stood still"
_FAULT: Final = "the kernel met something that cannot be in memory or code"

FAMILY: Final = Family(
    KERNEL,
    re.compile(
        r"^(?:watchdog: |NMI watchdog: |rcu: |kernel: )"
        r"|^(?=BUG|Unable to|Bad page|Oops|general prot|invalid op|divide|stack seg|double fault|"
        r"trap inv|kernel (?:BUG|tried)|list_|PANIC|Corrupted|swap_free|get_swap|usercopy|Kernel |"
        r"INFO: |refcount_t|rcu_|\S+\[\d+\]: segfault|traps: |-----|WARNING: |---\[|irq \d|"
        r"Disabling IRQ|handlers:|do_IRQ|__common|perf: |hrtimer|workqueue|sched: |Shutting|"
        r"Internal error: |SError Int|Out of memory|Memory cgroup|oom-kill|\S+ invoked oom-|"
        r"[\w:/.-]+: page allocation)"
    ),
    (
        rule(
            r"BUG: (?:unable to handle|kernel (?:NULL|paging)|Bad (?:page|rss)|non-zero|corrupted|"
            r"stack guard|TASK stack)|Unable to handle kernel|Bad page (?:map|state)|"
            r"Oops: |Oops - |general protection fault|"
            r"invalid opcode: |divide error: |stack segment: |double fault: |trap invalid opcode|"
            r"kernel BUG at |kernel tried to execute|list_(?:add|del) corruption|"
            r"BUG \S+ \((?:Not tainted|Tainted)|PANIC: |Internal error: |SError Interrupt on|"
            r"Corrupted page table|swap_free: Bad|get_swap_device: Bad|usercopy: Kernel memory",
            OTHER,
            _FAULT,
        ),
        rule(r"Kernel panic - not syncing: VFS: Unable to mount root|Kernel panic - not syncing: "
             r"No working init", OTHER, "the kernel found no system to start", False),
        rule(r"Kernel panic - not syncing", OTHER, "the kernel stopped (panic)"),
        rule(
            r"BUG: soft lockup|(?:CPU\d+: )?Watchdog detected hard LOCKUP|BUG: workqueue lockup|"
            r"INFO: rcu_\w+ (?:self-)?detected",
            OTHER,
            STALL,
        ),
        rule(r"BUG: |refcount_t: |INFO: possible|INFO: trying", OTHER,
             "the kernel caught an error in itself", False),
        rule(r"INFO: task \S+ blocked for more than|rcu_\w+ kthread", OTHER,
             "a program waited for minutes", False),
        rule(r"\S+\[\d+\]: segfault at |traps: \S+\[\d+\] ", OTHER, "a program crashed", False),
        rule(r"------------\[ cut here \]------------|WARNING: (?:CPU: \d+ )?PID: \d+|"
             r"---\[ end (?:trace|Kernel panic)", OTHER, "the kernel's note on a crash", False),
        rule(r"irq \d+: nobody cared|Disabling IRQ #|handlers:", OTHER,
             "an interrupt came that no driver asked for", False),
        chatter(r"(?:do_IRQ|__common_interrupt): \d+\.\d+ No irq handler|"
                r"perf: interrupt took too long|hrtimer: interrupt took|"
                r"INFO: NMI handler|workqueue: \S+ hogged CPU|sched: RT throttling|"
                r"Shutting down cpus with NMI|Out of memory: |Memory cgroup out of|"
                r"\S+ invoked oom-killer|\S+: page allocation (?:failure|stalls)|oom-kill:|"
                r"Kernel Offset|\[drm\] GPU HANG", "the kernel's note"),
    ),
    claims=False,
)  # fmt: skip
