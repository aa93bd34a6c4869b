"""One task for every number from 0 on, on several processes at once.

Processes are spawned, which is safe everywhere, and end with the one that started them, however it ends.
"""

import multiprocessing
import os
import signal
import threading
from collections.abc import Callable, Iterator
from contextlib import contextmanager, suppress
from dataclasses import dataclass
from multiprocessing.connection import Connection, wait
from multiprocessing.context import SpawnProcess
from typing import Any, TypeVar

Result = TypeVar("Result")
Said = Callable[[int], object]  # what progress is said with
THREADS = "OPENBLAS_NUM_THREADS"


class ProcessEnded(Exception):
    """A process ended before its work was done; the message is one line."""


@dataclass(frozen=True)
class _Done:
    number: int
    result: Any


def count() -> int:
    """How many cores this process may use."""
    allowed = getattr(os, "sched_getaffinity", None)
    return len(allowed(0)) if allowed else os.cpu_count() or 1


def spread(task: Callable[[int, Said], Result], numbers: int, processes: int, said: Said) -> list[Result]:
    """The results of a task for every number, in their order, whichever process each came from.

    Parameters
    ----------
    task : callable
        Takes a number and a function to say progress with; can be pickled. What it raises is raised here.
    numbers : int
        It is done for 0 up to this.
    processes : int
        How many at once; with 1 it is done in this one.
    said : callable
        Gets what the task says.

    Raises
    ------
    ProcessEnded
        If a process is ended from outside.
    """
    processes = min(processes, numbers)
    if processes <= 1:
        return [task(number, said) for number in range(numbers)]
    results: dict[int, Result] = {}
    todo = iter(range(numbers))
    with _started(task, processes) as pipes:
        busy: list[Connection] = []
        for pipe, number in zip(pipes, todo, strict=False):
            pipe.send(number)
            busy.append(pipe)
        while busy:
            for pipe in [pipe for pipe in wait(busy) if isinstance(pipe, Connection)]:
                message = _received(pipe)
                if isinstance(message, BaseException):
                    raise message
                if not isinstance(message, _Done):
                    said(message)
                    continue
                results[message.number] = message.result
                following = next(todo, None)
                if following is None:
                    busy.remove(pipe)
                else:
                    pipe.send(following)
    return [results[number] for number in range(numbers)]


def _received(pipe: Connection) -> Any:
    try:
        return pipe.recv()
    except (EOFError, ConnectionError):
        raise ProcessEnded("one of its processes was ended from outside, or the memory ran out") from None


@contextmanager
def _started(task: Callable[[int, Said], Any], processes: int) -> Iterator[list[Connection]]:
    """Processes at work, each at the other end of a pipe; none is left at the end."""
    context = multiprocessing.get_context("spawn")
    workers: list[SpawnProcess] = []
    pipes: list[Connection] = []
    try:
        with _for_workers():
            for _ in range(processes):
                here, there = context.Pipe()
                worker = context.Process(target=_work, args=(task, there), daemon=True)
                worker.start()
                there.close()
                workers.append(worker)
                pipes.append(here)
        yield pipes
    finally:
        for worker in workers:
            worker.terminate()
        for worker in workers:
            worker.join()
        for pipe in pipes:
            pipe.close()


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


def _work(task: Callable[[int, Said], Any], pipe: Connection) -> None:
    """A process's work: numbers in, what the task says and its results out."""
    signal.signal(signal.SIGINT, signal.SIG_IGN)
    threading.Thread(target=_end_with_parent, daemon=True).start()
    with suppress(EOFError, ConnectionError):
        while True:
            number = pipe.recv()
            try:
                pipe.send(_Done(number, task(number, pipe.send)))
            except ConnectionError:
                raise
            except Exception as error:
                pipe.send(error)


def _end_with_parent() -> None:
    parent = multiprocessing.parent_process()
    if parent is not None:
        parent.join()
        os._exit(1)
