"""Work on files, done by children that may die: bounded in time, memory and number, whatever a file does to them.

The children are forked by a process that has everything loaded (`nursery.py`), so a small file takes some hundredths
of a second. That process is started with the first file, started again when it is gone, and ends with this one.
"""

from __future__ import annotations

import json
import os
import signal
import socket
import subprocess
import sys
import threading
from collections.abc import Iterator
from contextlib import contextmanager, suppress
from dataclasses import dataclass
from pathlib import Path
from typing import Any

import structlog

from service.geometry.frames import OUT_OF_MEMORY, receive, send
from service.kit.errors import TooMany
from service.kit.unfit import Unfit

log = structlog.get_logger()

GIB = 1024**3
START_SECONDS = 40.0  # until everything is loaded, on a slow machine
BURIAL_SECONDS = 15.0  # from a child's end to word of it
_ROOT = Path(__file__).resolve().parents[2]
_KEPT = ("PATH", "LANG", "LC_ALL", "TMPDIR", "SYSTEMROOT", "LD_LIBRARY_PATH", "VIRTUAL_ENV")
_CALM = {"OPENBLAS_NUM_THREADS": "1", "OMP_NUM_THREADS": "1", "MKL_NUM_THREADS": "1"}
_TOO_LONG = {signal.SIGALRM, signal.SIGXCPU}


@dataclass(frozen=True, slots=True)
class Done:
    """A child's answer: figures, and bytes where there are any."""

    figures: dict[str, Any]
    data: bytes


class _Gone(Exception):
    """The nursery is no more, and the file was not to blame."""


class Children:
    """At most `at_once` files are worked on; `waiting` more wait `patience` seconds; others are told to come back."""

    def __init__(
        self,
        *,
        at_once: int = 2,
        waiting: int = 4,
        patience: float = 5.0,
        seconds: float = 20.0,
        processor_seconds: int = 20,
        memory: int = 2 * GIB,
    ) -> None:
        self._patience = patience
        self._seconds = seconds
        self._bounds = {"seconds": seconds, "processor_seconds": processor_seconds, "memory": memory}
        self._places = threading.BoundedSemaphore(at_once)
        self._queue = threading.BoundedSemaphore(at_once + waiting)
        self._starting = threading.Lock()
        self._nursery: _Nursery | None = None

    def run(self, asked: dict[str, Any], content: bytes) -> Done:
        """Have `job.do` done in a child; raises Unfit for the file's sake and TooMany when others are in the way."""
        with self._place():
            for _ in range(2):
                nursery = self._standing()
                try:
                    return self._judged(nursery.run({**asked, "bounds": self._bounds}, content), asked["do"])
                except _Gone:
                    log.warning("nursery_gone", pid=nursery.pid)
                    nursery.end()
        raise TooMany("Files cannot be read just now. Nothing was kept; try again in a minute.", retry_after=60)

    @property
    def nursery_pid(self) -> int | None:
        """The process that forks the children, once a file was read."""
        return None if self._nursery is None else self._nursery.pid

    def close(self) -> None:
        """End the nursery, and whatever it still has children for."""
        with self._starting:
            if self._nursery is not None:
                self._nursery.end()

    @contextmanager
    def _place(self) -> Iterator[None]:
        busy = TooMany(
            "Other files are being read just now. Nothing was kept; send this one again in a moment.",
            retry_after=max(int(self._patience), 1),
        )
        # Whoever waits holds a thread of the service, so not everybody may.
        if not self._queue.acquire(blocking=False):
            raise busy
        try:
            if not self._places.acquire(timeout=self._patience):
                raise busy
            try:
                yield
            finally:
                self._places.release()
        finally:
            self._queue.release()

    def _standing(self) -> _Nursery:
        """The nursery, started if there is none or this process is itself a fork of the one that started it."""
        with self._starting:
            if self._nursery is None or not self._nursery.stands:
                self._nursery = _Nursery(self._seconds)
            return self._nursery

    def _judged(self, ended: _Ended, do: str) -> Done:
        """What a child's end means for the file."""
        is_photograph = do == "photograph"
        too_large, beyond = (_NO_PHOTOGRAPH, _NO_PHOTOGRAPH) if is_photograph else (_TOO_LARGE, _BEYOND)
        figures = ended.figures
        took = log.bind(max_rss_mb=round(ended.max_rss_mb), cpu_s=round(ended.cpu_s, 2), triangles=ended.triangles)
        if figures is None:
            took.warning("file_ended_its_reader", signal=ended.signal)
            if ended.signal == signal.SIGALRM and ended.cpu_s < self._seconds / 2:
                raise TooMany(_MACHINE_BUSY, retry_after=60)
            if ended.signal in _TOO_LONG:
                raise Unfit(_NO_PHOTOGRAPH if is_photograph else self._too_long(ended))
            raise Unfit(too_large if ended.signal == signal.SIGKILL else beyond)
        if OUT_OF_MEMORY in figures:
            took.warning("file_too_large_for_memory")
            raise Unfit(too_large)
        if "fault" in figures:
            took.error("file_met_a_fault", where=str(figures["fault"])[:2000])
            raise Unfit(beyond)
        took.info("file_read", taken="unfit" not in figures)
        if "unfit" in figures:
            raise Unfit(str(figures["unfit"]))
        return Done(figures, ended.data)

    def _too_long(self, ended: _Ended) -> str:
        many = (
            ""
            if ended.triangles is None
            else f" It holds {ended.triangles:,} triangles; 100,000 are plenty for a print."
        )
        seconds = self._bounds["seconds" if ended.signal == signal.SIGALRM else "processor_seconds"]
        return (
            f"Reading this file took longer than {seconds:g} seconds, so it was put aside.{many} Make the "
            "mesh coarser, or export the part alone, and send that."
        )


# When the child had not even half of that time to itself, the file is not to blame.
_MACHINE_BUSY = "The register has too much to do just now to read this file. Nothing was kept; try again in a minute."
_TOO_LARGE = (
    "This file needs more memory than reading a part may take, so it was put aside. Make the mesh coarser, or export "
    "the part alone, and send that."
)
_NO_PHOTOGRAPH = "This photograph could not be read, so it was not kept. Take it again, or send another one."
_BEYOND = (
    "Something in this file could not be worked out, so it was not taken. Repair the mesh or save it again; if it is "
    "still not taken, tell whoever runs the register, who will find the reason in its log."
)


@dataclass(slots=True)
class _Ended:
    """How a child ended: its answer if it gave one, else the signal that ended it; what the system counted of it."""

    figures: dict[str, Any] | None = None
    data: bytes = b""
    triangles: int | None = None
    signal: int = 0
    max_rss_mb: float = 0.0
    cpu_s: float = 0.0


class _Nursery:
    """The process that forks children, and the socket over which it is asked to."""

    def __init__(self, seconds: float) -> None:
        self._patience = START_SECONDS + seconds
        self._orders, theirs = socket.socketpair()
        with theirs:
            # Its own session: Ctrl-C and a closed terminal are this process's to answer, and it then ends with it.
            self._process = subprocess.Popen(  # noqa: S603 our own module, nothing of anybody's
                [sys.executable, "-W", "ignore", "-m", "service.geometry.nursery", str(theirs.fileno())],
                pass_fds=(theirs.fileno(),),
                stdin=subprocess.DEVNULL,
                stdout=subprocess.DEVNULL,
                cwd=_ROOT,
                env={**{name: os.environ[name] for name in _KEPT if name in os.environ}, **_CALM},
                start_new_session=True,
            )
        self._owner = os.getpid()
        self._is_over = False
        self._asking = threading.Lock()
        # Waited for from its first moment on, so that it never stays behind as a zombie.
        threading.Thread(target=self._process.wait, name="nursery", daemon=True).start()

    @property
    def pid(self) -> int:
        return self._process.pid

    @property
    def stands(self) -> bool:
        return self._owner == os.getpid() and not self._is_over

    def end(self) -> None:
        """Be sure that it is gone."""
        self._is_over = True
        with self._asking:
            self._orders.close()
        if self._owner == os.getpid():  # a fork of the service leaves it to its owner
            self._process.kill()

    def run(self, asked: dict[str, Any], content: bytes) -> _Ended:
        """One file through one child; raises _Gone."""
        job, childs = socket.socketpair()
        tell, nurserys = socket.socketpair()
        with job, tell:
            with childs, nurserys:
                try:
                    with self._asking:
                        socket.send_fds(self._orders, [b"."], [childs.fileno(), nurserys.fileno()])
                except OSError as error:
                    raise _Gone from error
            job.settimeout(self._patience)
            tell.settimeout(BURIAL_SECONDS)
            ended = _Ended()
            # A child that dies in the middle leaves a broken stream; the nursery then says how it died.
            with suppress(OSError, EOFError):
                send(job, asked, content)
                self._listen(job, ended)
            job.close()
            return self._buried(tell, ended)

    @staticmethod
    def _listen(job: socket.socket, ended: _Ended) -> None:
        while ended.figures is None:
            said, data = receive(job)
            if "progress" in said:
                ended.triangles = said["progress"].get("triangles")
            else:
                ended.figures, ended.data = said, data

    @staticmethod
    def _buried(tell: socket.socket, ended: _Ended) -> _Ended:
        try:
            said = tell.recv(4096)
        except OSError as error:
            raise _Gone from error
        if not said:
            raise _Gone
        how = json.loads(said)
        ended.signal, ended.max_rss_mb, ended.cpu_s = how["signal"], how["max_rss_mb"], how["cpu_s"]
        return ended
