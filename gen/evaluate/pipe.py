"""A process behind three pipes that can't block each other, and its end with its children."""

from __future__ import annotations

import contextlib
import os
import queue
import signal
import subprocess
import threading
import time
import weakref
from collections.abc import Sequence
from pathlib import Path

_CHUNK = 65536
_WAITING = 64  # chunks that may wait to be read before the process has to wait
_KEPT_ERROR = 8192  # bytes of standard error, the last ones
_CLOSING_S = 1.0


MOST_BYTES = 2**28
"""What may be written about one batch: half a million scores for each of 64 glyphs."""


class OutOfTimeError(Exception):
    """The deadline came first."""


class TooMuchError(Exception):
    """More was written than any answer can be."""


class Pipe:
    """A process that was started, in a process group of its own.

    Threads write to its standard input and read its standard output and error, so that
    it may write and read in any order. Only the end of its standard error is kept. A child
    that leaves the group, as daemons do, is not found when the group is ended.

    Parameters
    ----------
    command
        The program and its arguments.
    folder
        Where it runs.

    Raises
    ------
    OSError
        If it can't be started.
    """

    def __init__(self, command: Sequence[str], folder: Path) -> None:
        self._process = subprocess.Popen(
            list(command),
            cwd=folder,
            stdin=subprocess.PIPE,
            stdout=subprocess.PIPE,
            stderr=subprocess.PIPE,
            bufsize=0,
            start_new_session=True,
        )
        self._out: queue.Queue[bytes] = queue.Queue(_WAITING)
        self._error = bytearray()
        self._buffer = bytearray()
        self._ended = False
        self._stop = threading.Event()
        self._threads = [
            threading.Thread(target=_read_out, args=(self._process, self._out, self._stop)),
            threading.Thread(target=_read_error, args=(self._process, self._error)),
        ]
        # However this program ends, short of being killed itself, the other one goes first.
        self._end = weakref.finalize(
            self, _finish, self._process, self._threads, self._stop, os.getpid()
        )
        for thread in self._threads:
            thread.daemon = True
            thread.start()

    def send(self, data: bytes, *, last: bool) -> None:
        """Hand over some bytes; this doesn't wait until they are read."""
        thread = threading.Thread(target=_write, args=(self._process, data, last), daemon=True)
        # The list is shared with what ends it all, and must not grow with every batch.
        self._threads[:] = [*(one for one in self._threads if one.is_alive()), thread]
        thread.start()

    def read(self, count: int, deadline: float) -> bytes:
        """So many bytes, or fewer where standard output ends before."""
        while len(self._buffer) < count and self._more(deadline):
            pass
        return self._taken(min(count, len(self._buffer)))

    def line(self, deadline: float) -> bytes:
        """A line with its end; what is left where standard output ends before."""
        seen = 0
        while (found := self._buffer.find(b"\n", seen)) < 0:
            seen = len(self._buffer)
            if not self._more(deadline):
                return self._taken(len(self._buffer))
        return self._taken(found + 1)

    def rest(self, deadline: float) -> bytes:
        """All until standard output ends."""
        while self._more(deadline):
            pass
        return self._taken(len(self._buffer))

    def unasked(self) -> bytes:
        """What was written so far beyond what was read; this doesn't wait."""
        with contextlib.suppress(queue.Empty):
            while not self._ended:
                self._take(self._out.get_nowait())
        return self._taken(len(self._buffer))

    def ends(self, deadline: float) -> int:
        """Wait for the end; the exit code, negative for a signal."""
        pause = 0.0005
        while (code := _exit_code(self._process)) is None:
            if time.monotonic() > deadline:
                raise OutOfTimeError
            time.sleep(pause)
            pause = min(2 * pause, 0.05)
        return code

    def close(self) -> str:
        """Kill it, with its children, if it still runs; the end of its standard error."""
        self._end()
        return bytes(self._error).decode("utf-8", "replace")

    def _more(self, deadline: float) -> bool:
        """Wait for another piece of standard output; False at its end."""
        if self._ended:
            return False
        try:
            self._take(self._out.get(timeout=max(0.001, deadline - time.monotonic())))
        except queue.Empty:
            raise OutOfTimeError from None
        if time.monotonic() > deadline and not self._ended:
            raise OutOfTimeError
        return not self._ended

    def _take(self, chunk: bytes) -> None:
        self._ended = not chunk
        self._buffer += chunk
        if len(self._buffer) > MOST_BYTES:
            raise TooMuchError

    def _taken(self, count: int) -> bytes:
        data = bytes(self._buffer[:count])
        del self._buffer[:count]
        return data


def _exit_code(process: subprocess.Popen[bytes]) -> int | None:
    """The exit code, or None while it runs.

    The process stays in the system's table, so that its number, which is its group's too,
    can't become another's before the group is killed.
    """
    if not hasattr(os, "waitid") or process.returncode is not None:
        return process.poll()
    seen = os.waitid(os.P_PID, process.pid, os.WEXITED | os.WNOHANG | os.WNOWAIT)
    if seen is None:
        return None
    return seen.si_status if seen.si_code == os.CLD_EXITED else -seen.si_status


def _finish(
    process: subprocess.Popen[bytes],
    threads: list[threading.Thread],
    stop: threading.Event,
    owner: int,
) -> None:
    """End a process and everything in its group, and leave neither pipe nor table entry."""
    if os.getpid() != owner:  # a copy of this program made by fork has no say
        return
    stop.set()
    with contextlib.suppress(OSError):
        if hasattr(os, "killpg"):
            # The group outlives its first process as long as a child is left in it.
            os.killpg(process.pid, signal.SIGKILL)
        elif process.poll() is None:
            process.kill()
    with contextlib.suppress(subprocess.TimeoutExpired):
        process.wait(_CLOSING_S)
    deadline = time.monotonic() + _CLOSING_S
    for thread in threads:
        with contextlib.suppress(RuntimeError):  # this may be run by any thread, one of them too
            thread.join(max(0.0, deadline - time.monotonic()))
    if not any(thread.is_alive() for thread in threads):
        for stream in (process.stdin, process.stdout, process.stderr):
            if stream is not None:
                with contextlib.suppress(OSError):
                    stream.close()


def _write(process: subprocess.Popen[bytes], data: bytes, last: bool) -> None:
    stream = process.stdin
    assert stream is not None
    view = memoryview(data)
    # A program that ends, or closes its input, before it has read all: its answer tells.
    with contextlib.suppress(OSError, ValueError):
        while view:
            view = view[stream.write(view) or 0 :]
    if last:
        with contextlib.suppress(OSError):
            stream.close()


def _read_out(
    process: subprocess.Popen[bytes], out: queue.Queue[bytes], stop: threading.Event
) -> None:
    stream = process.stdout
    assert stream is not None
    chunk = b"-"
    while chunk and not stop.is_set():
        try:
            chunk = os.read(stream.fileno(), _CHUNK)
        except (OSError, ValueError):
            chunk = b""
        while not stop.is_set():
            with contextlib.suppress(queue.Full):
                out.put(chunk, timeout=0.1)
                break


def _read_error(process: subprocess.Popen[bytes], kept: bytearray) -> None:
    stream = process.stderr
    assert stream is not None
    with contextlib.suppress(OSError, ValueError):
        while chunk := os.read(stream.fileno(), _CHUNK):
            kept += chunk
            del kept[:-_KEPT_ERROR]
