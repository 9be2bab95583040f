"""Two press in the same moment, or one presses again and again: it is recorded once, and nothing slips past a block."""

from __future__ import annotations

from concurrent.futures import ThreadPoolExecutor

import pytest
import sqlalchemy as sa

from service.assembly.tables import PlaceRow
from service.builds.tables import BuildPartRow
from service.gate.tables import CheckRow
from service.handovers.tables import DeliveryRow, FittingRow, FollowUpRow
from service.notices.tables import NoticeCaseRow
from tests.assembly.things import assemblies, finger
from tests.devices.worn import count
from tests.gate.test_every_way import no_consent
from tests.gate.things import fitting, workshop


def test_of_many_who_record_one_fitting_one_is_recorded(register):
    shop = workshop(register)
    build = shop.delivered(shop.opened())
    body = fitting(shop)

    def press(_at: int) -> int:
        return int(shop.coordinator.post(f"/api/v1/builds/{build}/fitted", json=body).status_code)

    with ThreadPoolExecutor(6) as pool:
        statuses = list(pool.map(press, range(6)))
    assert set(statuses) == {201}
    assert count(register, FittingRow) == 1
    assert count(register, BuildPartRow) == 1
    assert count(register, FollowUpRow) == 4
    assert len(assemblies(shop.coordinator, shop.number)[shop.device]) == 1
    with register.db.reading() as session:
        standing = sa.select(sa.func.count()).select_from(PlaceRow).where(PlaceRow.until.is_(None))
        assert session.scalar(standing) == 1
        fitted = sa.select(sa.func.count()).select_from(CheckRow).where(CheckRow.kind == "fitting")
        assert session.scalar(fitted) == 1


def test_a_delivery_sent_again_is_recorded_once(register):
    shop = workshop(register)
    build = shop.cleared(shop.opened())

    def press(_at: int) -> int:
        return int(shop.maker.post(f"/api/v1/builds/{build}/delivered", json={"to": "the mother"}).status_code)

    with ThreadPoolExecutor(6) as pool:
        assert set(pool.map(press, range(6))) == {201}
    assert count(register, DeliveryRow) == 1


@pytest.mark.parametrize("again", range(4))
def test_consent_that_is_withdrawn_while_it_is_fitted(register, again):
    """Either the fitting came first, or it is refused: never a fitting after the consent was gone."""
    shop = workshop(register)
    build = shop.delivered(shop.opened())
    body = fitting(shop)
    acts = [lambda: no_consent(shop), lambda: shop.coordinator.post(f"/api/v1/builds/{build}/fitted", json=body)]
    order = acts if again % 2 else acts[::-1]
    with ThreadPoolExecutor(2) as pool:
        for done in [pool.submit(each) for each in order]:
            done.result()
    state = shop.state(build)
    history = shop.coordinator.get(f"/api/v1/recipients/{shop.number}").json()["consents"]
    assert any(each["withdrawn_on"] for each in history)
    (worn,) = assemblies(shop.coordinator, shop.number)[shop.device]
    assert (worn["place"] == shop.place) is (state == "delivered")
    assert state in {"delivered", "fitted"}


@pytest.mark.parametrize("again", range(4))
def test_a_notice_that_is_opened_while_it_is_fitted_finds_it_or_stops_it(register, again):
    """The finger is of another version than the one that broke, so it is found on the limb only once it is fitted."""
    shop = workshop(register)
    better = finger(register, digit="index", checks=["label"])
    build = shop.opened(items=[{"version": better, "digit": "index", "place": shop.place}])
    shop.delivered(build)
    body = fitting(shop)
    notice = {"version": better, "why": "The pin can come out."}
    acts = [
        lambda: shop.coordinator.post("/api/v1/notices", json=notice),
        lambda: shop.coordinator.post(f"/api/v1/builds/{build}/fitted", json=body),
    ]
    order = acts if again % 2 else acts[::-1]
    with ThreadPoolExecutor(2) as pool:
        for done in [pool.submit(each) for each in order]:
            assert done.result().status_code in {201, 409}
    fitted = shop.state(build) == "fitted"
    (open_one,) = shop.coordinator.get("/api/v1/notices").json()["items"]
    affected = shop.coordinator.get(f"/api/v1/notices/{open_one['id']}/affected").json()
    assert len(affected["items"]) == fitted
    assert len(affected["builds"]) == (not fitted)
    with register.db.reading() as session:
        told = session.scalar(sa.select(sa.func.count()).select_from(NoticeCaseRow))
    assert told == fitted  # in the transaction that opened it


def test_two_who_sign_at_once_sign_one_after_the_other(register):
    shop = workshop(register)
    build = shop.made(shop.opened())
    with ThreadPoolExecutor(2) as pool:
        one = pool.submit(shop.checked, build)
        two = pool.submit(shop.checked, build, by=shop.coordinator, label={"result": "fail", "why": "no number"})
        statuses = sorted([one.result().status_code, two.result().status_code])
    assert statuses[0] == 201
    assert statuses[1] in {404, 409}  # a volunteer sees it no more once it waits for no check
    state = shop.state(build)
    assert state == ("cleared" if one.result().status_code == 201 else "sent_back")
