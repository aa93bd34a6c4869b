"""One task for every number from 0 on, on several processes at once.

Processes are spawned, which is safe everywhere, and end with the one that started them, however it ends.
"""

import multiprocessing
import os
import signal
import threading
from collections.abc import Callable, Iterator
from concurrent.futures import FIRST_COMPLETED, ProcessPoolExecutor, wait
from concurrent.futures.process import BrokenProcessPool
from contextlib import contextmanager
from multiprocessing.queues import SimpleQueue
from typing import TypeVar

Result = TypeVar("Result")
Progress = Callable[[int], object]  # is told how much more is done
THREADS = "OPENBLAS_NUM_THREADS"
EVERY_S = 0.05  # seconds between looks at the progress


class ProcessEnded(Exception):
    """A process ended before its work was done; the message is one line."""


def count() -> int:
    """How many cores this process may use."""
    allowed = getattr(os, "sched_getaffinity", None)
    return len(allowed(0)) if allowed else os.cpu_count() or 1


def spread(
    task: Callable[[int, Progress], Result], numbers: int, processes: int, progress: Progress
) -> list[Result]:
    """The results of a task for every number, in their order, whichever process each came from.

    Parameters
    ----------
    task : callable
        Takes a number and a function to say progress with; can be pickled. What it raises is raised here.
    numbers : int
        It is done for 0 up to this.
    processes : int
        How many at once; with 1 it is done in this one.
    progress : callable
        Gets what the task says.

    Raises
    ------
    ProcessEnded
        If a process is ended from outside.
    """
    processes = min(processes, numbers)
    if processes <= 1:
        return [task(number, progress) for number in range(numbers)]
    spawning = multiprocessing.get_context("spawn")
    reports, others = spawning.SimpleQueue(), set(multiprocessing.active_children())
    pool = ProcessPoolExecutor(processes, spawning, _begin, (reports,))
    try:
        with _for_workers():
            futures = [pool.submit(_done, task, number) for number in range(numbers)]
        left = set(futures)
        while left:
            finished, left = wait(left, EVERY_S, FIRST_COMPLETED)
            while not reports.empty():
                progress(reports.get())
            for future in finished:
                future.result()  # raises what the task raised
        return [future.result() for future in futures]
    except BrokenProcessPool:
        raise ProcessEnded("one of its processes was ended from outside, or the memory ran out") from None
    finally:
        for process in set(multiprocessing.active_children()) - others:  # not one is waited for
            process.terminate()
        pool.shutdown(cancel_futures=True)


@contextmanager
def _for_workers() -> Iterator[None]:
    """What a process inherits: ctrl+C is for the first one alone, and one core is enough for each."""
    threads = os.environ.get(THREADS)
    os.environ[THREADS] = "1"
    in_main = threading.current_thread() is threading.main_thread()
    handler = signal.signal(signal.SIGINT, signal.SIG_IGN) if in_main else None
    try:
        yield
    finally:
        if in_main:
            signal.signal(signal.SIGINT, handler)
        if threads is None:
            del os.environ[THREADS]
        else:
            os.environ[THREADS] = threads


_reports: "SimpleQueue[int]"  # of a worker process, which has nothing else in common with this one


def _begin(reports: "SimpleQueue[int]") -> None:
    """Make this process a worker."""
    global _reports  # noqa: PLW0603 - what an executor begins its processes with has nowhere else to put it
    _reports = reports
    signal.signal(signal.SIGINT, signal.SIG_IGN)
    threading.Thread(target=_end_with_parent, daemon=True).start()


def _done(task: Callable[[int, Progress], Result], number: int) -> Result:
    return task(number, _reports.put)


def _end_with_parent() -> None:
    parent = multiprocessing.parent_process()
    if parent is not None:
        parent.join()
        os._exit(1)
