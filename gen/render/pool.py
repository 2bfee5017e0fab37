"""Worker processes of our own: one thread each, deaf to Ctrl-C, gone when we are.

This module imports no numpy, so that what it sets is set before numpy is loaded.
"""

from __future__ import annotations

import multiprocessing
import os
import signal
import sys
import threading
from collections.abc import Callable, Iterator
from concurrent.futures import Executor, Future, ProcessPoolExecutor
from contextlib import contextmanager
from multiprocessing import connection
from typing import Any, TypeVar

Result = TypeVar("Result")

THREADS = (
    "OMP_NUM_THREADS",
    "OPENBLAS_NUM_THREADS",
    "MKL_NUM_THREADS",
    "VECLIB_MAXIMUM_THREADS",
    "NUMEXPR_NUM_THREADS",
    "BLIS_NUM_THREADS",
)


class Processes(Executor):
    """Some processes, started afresh and not forked, so that no thread or lock comes along.

    Parameters
    ----------
    count
        How many.
    """

    def __init__(self, count: int) -> None:
        self._pool = ProcessPoolExecutor(
            count, mp_context=multiprocessing.get_context("spawn"), initializer=_begin
        )

    def submit(self, fn: Callable[..., Result], /, *args: Any, **kwargs: Any) -> Future[Result]:
        """As any executor; processes are started as work comes."""
        with _starting():
            return self._pool.submit(fn, *args, **kwargs)

    def shutdown(self, wait: bool = True, *, cancel_futures: bool = False) -> None:
        """As any executor."""
        self._pool.shutdown(wait, cancel_futures=cancel_futures)


@contextmanager
def _starting() -> Iterator[None]:
    """What a process is born with: one thread a library, and Ctrl-C held back from its start."""
    before = {name: os.environ.get(name) for name in THREADS}
    os.environ.update(dict.fromkeys(THREADS, "1"))
    masked = None
    if sys.platform != "win32":
        from multiprocessing import resource_tracker

        # Started first, for it lets SIGINT through again when it starts.
        resource_tracker.ensure_running()
        masked = signal.pthread_sigmask(signal.SIG_BLOCK, (signal.SIGINT,))
    try:
        yield
    finally:
        if sys.platform != "win32" and masked is not None:
            signal.pthread_sigmask(signal.SIG_SETMASK, masked)
        for name, value in before.items():
            if value is None:
                os.environ.pop(name, None)
            else:
                os.environ[name] = value


def _begin() -> None:
    """First thing in a worker: the one who started it decides when it ends."""
    signal.signal(signal.SIGINT, signal.SIG_IGN)
    parent = multiprocessing.parent_process()
    if parent is not None:
        threading.Thread(target=_end_with, args=(parent.sentinel,), daemon=True).start()
    try:
        import cv2
    except ImportError:
        return
    cv2.setNumThreads(1)


def _end_with(sentinel: int) -> None:
    connection.wait([sentinel])
    os._exit(1)
