"""The same work on many things, in order, in one process or in several side by side."""

from __future__ import annotations

import os
import time
from collections.abc import Callable, Iterator, Sequence
from typing import TypeVar

Thing = TypeVar("Thing")
Made = TypeVar("Made")

WORTH_S = 3.0
"""Seconds of work left for which starting further processes pays: each loads the program anew."""

TRIED_S = 0.5
"""So long things are done in this process before what is left is judged."""

PORTIONS = 8
"""Portions that each process is handed, so that none waits long for the last one."""

LARGEST_PORTION = 32


def processors() -> int:
    """How many processors this process may use."""
    if hasattr(os, "sched_getaffinity"):
        return len(os.sched_getaffinity(0))
    return os.cpu_count() or 1


def in_order(
    work: Callable[[Thing], Made], things: Sequence[Thing], jobs: int | None = None
) -> Iterator[Made]:
    """What the work makes of each thing, in their order.

    work: and what it takes and makes must be picklable; it must not depend on what was done before.
    jobs: how many processes; 1 is this one alone. None: this one, and where more than `WORTH_S` of
          work is left after the first ones, one for each processor.
    """
    if jobs is None:
        done = 0
        start = time.perf_counter()
        for made in map(work, things):
            yield made
            done += 1
            spent = time.perf_counter() - start
            if spent > TRIED_S and spent / done * (len(things) - done) > WORTH_S:
                break
        things, jobs = things[done:], processors()
    if jobs == 1 or len(things) < 2:
        yield from map(work, things)
    else:
        yield from _side_by_side(work, things, min(jobs, len(things)))


def _side_by_side(
    work: Callable[[Thing], Made], things: Sequence[Thing], jobs: int
) -> Iterator[Made]:
    """The same in further processes, which are started anew: a forked one may hang on a thread."""
    from concurrent.futures import ProcessPoolExecutor
    from multiprocessing import get_context

    portion = max(1, min(LARGEST_PORTION, len(things) // (PORTIONS * jobs)))
    with ProcessPoolExecutor(jobs, get_context("spawn"), _quietly) as pool:
        try:
            yield from pool.map(work, things, chunksize=portion)
        except BaseException:
            pool.shutdown(wait=False, cancel_futures=True)
            raise


def _quietly() -> None:
    """An interrupt from the keyboard is for the process that started this one."""
    import signal

    signal.signal(signal.SIGINT, signal.SIG_IGN)
