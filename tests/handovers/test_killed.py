"""A process killed while it records fittings: each is there whole or not at all, and the same sent again is once."""

from __future__ import annotations

import random
import signal
import threading
from contextlib import suppress
from typing import Any

import httpx2 as httpx
import sqlalchemy as sa

from service.assembly.tables import PartRow, PlaceRow
from service.builds.rules import BuildState
from service.builds.tables import BuildPartRow, BuildRow
from service.gate.tables import CheckRow
from service.handovers.tables import FittingRow, FollowUpRow
from service.requests.rules import RequestState
from service.requests.tables import RequestRow
from tests.gate.things import Workshop, fitting, workshop
from tests.test_killed import served

ROUNDS = 4


def assert_whole(shop: Workshop, build: int, answered: bool) -> bool:
    """Whether it is fitted; everything that a fitting changes has changed, or nothing has."""

    def count(what: Any, *where: Any) -> int:
        return int(session.scalar(sa.select(sa.func.count()).select_from(what).where(*where)) or 0)

    with shop.register.db.reading() as session:
        row = session.get_one(BuildRow, build)
        fitted = row.state is BuildState.FITTED
        asked = session.get_one(RequestRow, row.request_id)
        assert fitted or not answered
        assert (asked.state is RequestState.ANSWERED) is fitted
        assert count(FittingRow, FittingRow.build_id == build) == fitted
        assert count(CheckRow, CheckRow.build_id == build, CheckRow.kind == "fitting") == fitted
        assert count(FollowUpRow, FollowUpRow.build_id == build) == 4 * fitted
        assert count(BuildPartRow) == count(PartRow) - 1
        assert count(PlaceRow, PlaceRow.until.is_(None)) == 1
        return fitted


def test_killed_while_fittings_are_recorded(register):
    shop = workshop(register)
    token = shop.coordinator.headers["Authorization"]
    for turn in range(ROUNDS):
        build = shop.delivered(shop.opened())
        body = fitting(shop, on=str(register.clock().date()))  # the server has a clock of its own
        path = f"/api/v1/builds/{build}/fitted"
        answered = False
        with served(register) as (process, address):
            fuse = threading.Timer(random.Random(turn).uniform(0.0, 0.12), process.send_signal, [signal.SIGKILL])
            fuse.start()
            with suppress(httpx.TransportError):
                sent = httpx.post(address + path, json=body, headers={"Authorization": token}, timeout=10)
                answered = sent.is_success
            fuse.join()
            process.wait()
        fitted = assert_whole(shop, build, answered)
        again = shop.coordinator.post(path, json=body)
        assert again.status_code == 201, again.text
        assert assert_whole(shop, build, answered=True) or fitted
        worn = shop.coordinator.get(f"/api/v1/recipients/{shop.number}/parts-in-place").json()["items"]
        (shop.place,) = [part["place"] for held in worn for part in held["parts"]]
