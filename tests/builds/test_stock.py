"""What builds took: of lots, of time, of money."""

from __future__ import annotations

import pytest

from service.access.permissions import Role
from tests.assembly.things import lot
from tests.gate.things import workshop


@pytest.fixture
def shop(register):
    return workshop(register)


def left(shop, spool):
    """What is left of a lot."""
    found = shop.coordinator.get("/api/v1/builds/stock").json()["items"]
    return next(each for each in found if each["lot"] == spool)


def test_what_failed_is_used_up_too(shop):
    shop.spool = lot(shop.coordinator, batch="24-200", quantity=750)
    build = shop.opened()
    shop.move(build, "making")
    shop.printed(build, failed="layers_split")
    shop.printed(build)
    assert left(shop, shop.spool)["used"] == 12
    assert left(shop, shop.spool)["left"] == 738
    unknown = lot(shop.coordinator, batch="24-201")
    assert left(shop, unknown)["left"] is None


def test_time_and_money_are_summed_by_whatever_is_asked(shop, register):
    build = shop.opened()
    shop.move(build, "making")
    shop.printed(build, failed="ran_out", hours=1.25, grams=4, cost=0.1)
    shop.printed(build, hours=2, grams=11, cost=0.35)
    for by in ("site", "month", "recipient", "device", "build"):
        (found,) = shop.coordinator.get("/api/v1/builds/sums", params={"by": by}).json()["items"]
        assert (found["builds"], found["prints"], found["failed"]) == (1, 2, 1)
        assert (found["hours"], found["grams"], found["cost"]) == (3.25, 15, 0.45)
    of = {
        by: shop.coordinator.get("/api/v1/builds/sums", params={"by": by}).json()["items"][0]["of"]
        for by in ("site", "month", "recipient", "device")
    }
    assert of == {"site": "harbour", "month": "2026-03", "recipient": shop.number, "device": str(shop.device)}
    later = shop.coordinator.get("/api/v1/builds/sums", params={"since": "2026-03-03"}).json()["items"]
    assert later == []
    assert register.api(Role.COORDINATOR, sites=("island",)).get("/api/v1/builds/sums").json()["items"] == []
    assert shop.maker.get("/api/v1/builds/sums").status_code == 403
