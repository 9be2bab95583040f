"""A process that has everything loaded and does nothing but fork a child for each file; `python -m` runs it.

It is a fresh program, not a fork of the service: it holds none of the register's memory, secrets or open files. Over
the socket it was started with come pairs of sockets, one for a child to hear and answer, one on which this process says
how that child ended. When the service goes, so does this, and with it every child.
"""

from __future__ import annotations

import contextlib
import ctypes
import gc
import json
import os
import resource
import select
import signal
import socket
import struct
import sys
from typing import Any

from service.geometry.frames import receive, send
from service.geometry.job import do

_PARENT_DIES = 1  # prctl's PR_SET_PDEATHSIG
_UNASKED_SECONDS = 60  # how long a child waits for its orders and the file
_FIRST: dict[str, Any] = {"do": "read", "format": "stl", "unit": "mm", "axis": {}, "inside": {}}


def main() -> None:
    """Serve until the other end of the socket on file descriptor argv[1] is gone."""
    signal.signal(signal.SIGINT, signal.SIG_IGN)  # Ctrl-C is the service's to answer
    with socket.socket(fileno=int(sys.argv[1])) as orders:
        do(_FIRST, _first_file(), lambda _: None)  # what is loaded when it is first used is loaded now
        gc.collect()
        gc.freeze()
        _Nursery(orders).serve()


def _first_file() -> bytes:
    """A tetrahedron."""
    corners = [(0.0, 0.0, 0.0), (40.0, 0.0, 0.0), (0.0, 40.0, 0.0), (0.0, 0.0, 40.0)]
    faces = [(0, 2, 1), (0, 1, 3), (1, 2, 3), (2, 0, 3)]
    triangles = (struct.pack("<12fH", 0, 0, 0, *(x for i in face for x in corners[i]), 0) for face in faces)
    return bytes(80) + struct.pack("<I", len(faces)) + b"".join(triangles)


class _Nursery:
    def __init__(self, orders: socket.socket) -> None:
        self._orders = orders
        self._tell: dict[int, socket.socket] = {}
        self._woken, self._wake = os.pipe()
        os.set_blocking(self._woken, False)
        os.set_blocking(self._wake, False)

    def serve(self) -> None:
        signal.signal(signal.SIGCHLD, lambda *_: None)
        signal.set_wakeup_fd(self._wake, warn_on_full_buffer=False)
        while True:
            orders = self._orders.fileno()
            ready, _, _ = select.select([orders, self._woken], [], [])
            if self._woken in ready:
                with contextlib.suppress(BlockingIOError):
                    os.read(self._woken, 4096)
                self._bury()
            if orders in ready:
                message, fds, _, _ = socket.recv_fds(self._orders, 1, 2)
                if not message:
                    break
                if len(fds) == 2:
                    self._fork(socket.socket(fileno=fds[0]), socket.socket(fileno=fds[1]))
        for pid in self._tell:
            os.kill(pid, signal.SIGKILL)

    def _fork(self, job: socket.socket, tell: socket.socket) -> None:
        nursery = os.getpid()
        pid = os.fork()
        if pid == 0:
            status = 1
            try:
                _die_with(nursery)
                signal.set_wakeup_fd(-1)
                for ours in (self._orders, tell, *self._tell.values()):
                    ours.close()
                _one_file(job)
                status = 0
            finally:
                os._exit(status)
        job.close()
        self._tell[pid] = tell

    def _bury(self) -> None:
        """Say of every child that ended how it ended."""
        while self._tell:
            pid, status, used = os.wait4(-1, os.WNOHANG)
            if pid == 0:
                return
            ended = {
                "signal": os.WTERMSIG(status) if os.WIFSIGNALED(status) else 0,
                "max_rss_mb": used.ru_maxrss / 1024,
                "cpu_s": used.ru_utime + used.ru_stime,
            }
            with self._tell.pop(pid) as tell, contextlib.suppress(OSError):
                tell.sendall(json.dumps(ended).encode())


def _one_file(job: socket.socket) -> None:
    """In the child: hear what is asked, be bounded, do it, answer."""
    _bounded(seconds=_UNASKED_SECONDS, processor_seconds=_UNASKED_SECONDS, memory=resource.RLIM_INFINITY)
    asked, content = receive(job)
    _bounded(**asked["bounds"])

    def progress(said: dict[str, Any]) -> None:
        send(job, {"progress": said}, b"")

    answer, data = do(asked, content, progress)
    try:
        send(job, answer, data)
    except ValueError:  # a figure that is no number
        send(job, {"fault": "an answer that is not finite"}, b"")


def _bounded(*, seconds: float, processor_seconds: int, memory: int) -> None:
    """Time on the wall and on the processor, memory; no files written, no core left behind.

    Each ends the process by itself, whatever code it is in.
    """
    signal.signal(signal.SIGALRM, signal.SIG_DFL)
    signal.setitimer(signal.ITIMER_REAL, seconds)
    for what, limit, hard in (
        (resource.RLIMIT_CPU, processor_seconds, processor_seconds + 1),
        (resource.RLIMIT_AS, memory, memory),
        (resource.RLIMIT_FSIZE, 0, 0),
        (resource.RLIMIT_CORE, 0, 0),
    ):
        # Not every system has every limit, and one that is lower already stays; none is the only one.
        with contextlib.suppress(ValueError, OSError):
            resource.setrlimit(what, (limit, hard))


def _die_with(parent: int) -> None:
    if sys.platform == "linux":
        ctypes.CDLL(None).prctl(_PARENT_DIES, signal.SIGKILL)
    if os.getppid() != parent:  # it went before it could be followed
        os._exit(1)


if __name__ == "__main__":
    main()
