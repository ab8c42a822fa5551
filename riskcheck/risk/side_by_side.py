"""Work on independent parts with all the processors this process may use."""

from __future__ import annotations

import os
from collections.abc import Callable, Sequence
from concurrent.futures import ThreadPoolExecutor
from typing import TypeVar

Part = TypeVar("Part")
Done = TypeVar("Done")


def processors() -> int:
    """Processors that this process may use, as far as the system says."""
    count = getattr(os, "process_cpu_count", None)  # from Python 3.13 on
    if count is not None:
        return count() or 1
    if hasattr(os, "sched_getaffinity"):
        return len(os.sched_getaffinity(0))
    return os.cpu_count() or 1


def in_order(work: Callable[[Part], Done], parts: Sequence[Part]) -> list[Done]:
    """``work`` done on each part, results in the order of the parts.

    Threads, as numpy lets go of the interpreter while it works on an array; one part, or one
    processor, starts none.  What a part gives must not hang on when it is done, so that the bytes
    are the same for any number of processors.  The first error in the order of the parts is raised
    here, and parts not yet begun are dropped.
    """
    threads = min(processors(), len(parts))
    if threads < 2:
        return [work(part) for part in parts]
    with ThreadPoolExecutor(threads, thread_name_prefix="riskcheck") as pool:
        return list(pool.map(work, parts))
