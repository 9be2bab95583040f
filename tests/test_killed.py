"""A killed process: what was being written is there whole or not at all, and the work it asked for is done once."""

from __future__ import annotations

import os
import random
import signal
import socket
import subprocess
import sys
import threading
import time
from collections.abc import Iterator
from contextlib import contextmanager
from datetime import date, timedelta
from pathlib import Path
from typing import Any

import httpx2 as httpx
import sqlalchemy as sa

from service.access.permissions import Role
from service.audit.tables import AuditRow
from service.growth.tables import ForecastRow
from service.kit.jobs import JobRow, JobState
from service.measurements.tables import MeasurementRow, ReadingRow
from tests.conftest import Register
from tests.recipients.test_api import INES

ROUNDS = 4
HANDSPAN = Path(sys.executable).with_name("handspan")
UNFINISHED = [JobState.QUEUED, JobState.RUNNING]
FIRST_DAY = date(2020, 1, 6)


@contextmanager
def served(register: Register) -> Iterator[tuple[subprocess.Popen[str], str]]:
    """`handspan serve` as a process of its own, and its address."""
    with socket.socket() as free:
        free.bind(("127.0.0.1", 0))
        port = free.getsockname()[1]
    secret = register.settings.secret_key
    environment = {
        **os.environ,
        "HANDSPAN_DATA": str(register.settings.data),
        "HANDSPAN_DATABASE_URL": register.settings.database,
        "HANDSPAN_SECRET_KEY": secret.get_secret_value() if secret else "",
    }
    command = [str(HANDSPAN), "serve", "--port", str(port)]
    with subprocess.Popen(command, env=environment, stdout=subprocess.PIPE, text=True) as process:
        try:
            assert process.stdout is not None
            assert process.stdout.readline().startswith("ready: ")
            yield process, f"http://127.0.0.1:{port}"
        finally:
            process.kill()


def session_of(number: int) -> dict[str, Any]:
    """The body of one session: two readings of a limb that grows evenly, on a day of its own."""
    girth = 150 + number * 0.02
    readings = [
        {
            "dimension": "residual_limb_girth",
            "side": "left",
            "level_mm": level,
            "values": [girth - level / 10],
            "unit": "mm",
        }
        for level in (30, 60)
    ]
    return {
        "taken_on": str(FIRST_DAY + timedelta(days=number)),
        "method": "tape",
        "readings": readings,
        "confirmed": True,
    }


def test_killed_while_measurements_are_written(register: Register) -> None:
    client = register.api(Role.COORDINATOR)
    case = client.post("/api/v1/recipients", json=INES).json()["case_number"]
    device = client.post(f"/api/v1/recipients/{case}/devices", json={"purpose": "everyday", "side": "left"}).json()
    limit = {"dimension": "residual_limb_girth", "side": "left", "level_mm": 60, "tight_at_mm": 190.0}
    fitted = {"fitted_on": "2020-01-05", "limits": [limit]}
    assert client.post(f"/api/v1/recipients/{case}/devices/{device['id']}/sockets", json=fitted).status_code == 201

    at, token = f"/api/v1/recipients/{case}/measurements", client.headers["Authorization"]
    answered: set[int] = set()
    tried = 0

    def send(address: str, number: int) -> None:
        headers = {"Authorization": token, "Idempotency-Key": f"session-{number}"}
        answer = httpx.post(address + at, json=session_of(number), headers=headers, timeout=10)
        assert answer.status_code == 201, answer.text
        answered.add(number)

    for turn in range(ROUNDS):
        with served(register) as (process, address):
            # What the killed server may or may not have written is sent again under the same key.
            for number in sorted(set(range(tried)) - answered):
                send(address, number)
            fuse = threading.Timer(random.Random(turn).uniform(0.1, 0.8), process.send_signal, [signal.SIGKILL])
            fuse.start()
            try:
                while True:
                    tried += 1
                    send(address, tried - 1)
            except httpx.TransportError:
                fuse.join()
            assert_whole(register)

    with served(register) as (_, address):
        for number in sorted(set(range(tried)) - answered):
            send(address, number)
        wait_until_nothing_is_queued(register)
        assert_whole(register)

    with register.db.reading() as session:
        days = session.scalars(sa.select(MeasurementRow.taken_on)).all()
        forecasts = session.execute(sa.select(ForecastRow.socket_id, ForecastRow.inputs_hash, ForecastRow.model)).all()
        newest = session.scalar(sa.select(sa.func.count()).select_from(ForecastRow).where(ForecastRow.is_newest))
    assert sorted(days) == [FIRST_DAY + timedelta(days=number) for number in range(tried)]
    assert len(set(forecasts)) == len(forecasts), "a job's work was stored twice"
    assert newest == 1


def assert_whole(register: Register) -> None:
    """Every session has both its readings and its audit entry."""
    with register.db.reading() as session:
        sessions = session.scalar(sa.select(sa.func.count()).select_from(MeasurementRow))
        per_session = session.execute(
            sa.select(sa.func.count()).select_from(ReadingRow).group_by(ReadingRow.measurement_id)
        ).scalars()
        audited = session.scalar(
            sa.select(sa.func.count(sa.distinct(AuditRow.subject_id))).where(AuditRow.subject == "measurement")
        )
        assert set(per_session) <= {2}
        assert audited == sessions


def wait_until_nothing_is_queued(register: Register, *, seconds: float = 30) -> None:
    """Wait for the server's worker; a job a killed worker held is taken over when its lease has run out."""
    with register.db.writing() as session:
        session.execute(sa.update(JobRow).values(lease_until=JobRow.created_at))
    deadline = time.monotonic() + seconds
    while time.monotonic() < deadline:
        with register.db.reading() as session:
            if not session.scalar(sa.select(sa.exists().where(JobRow.state.in_(UNFINISHED)))):
                return
        time.sleep(0.1)
    raise AssertionError("the worker did not finish its jobs")
