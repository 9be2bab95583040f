"""What was written for the years before lately keeps to what the actions keep to, and tells a believable story."""

from __future__ import annotations

from collections import Counter, defaultdict
from collections.abc import Iterable
from datetime import date, timedelta
from itertools import pairwise
from statistics import mean, median
from typing import Any

import pytest
import sqlalchemy as sa

from service.access.permissions import Role
from service.accounts.tables import SiteRow
from service.assembly.tables import PartRow, PlaceRow
from service.builds.rules import MOVES, BuildState
from service.builds.tables import BuildItemRow, BuildMoveRow, BuildPartRow, BuildRow, PrintRow, UseRow
from service.devices.rules import EndReason, Use
from service.devices.tables import DeviceRow
from service.gate.checklists import CheckKind
from service.gate.tables import CheckRow
from service.growth.tables import LearnedLeadRow
from service.handovers.tables import DeliveryRow, FittingRow, FollowUpRow
from service.lots.tables import LotRow
from service.recipients.tables import RecipientRow
from service.requests.rules import UNSETTLED, RequestKind, RequestState, WhatHappened
from service.requests.tables import RequestPartRow, RequestRow, WaitRow
from service.safety.rules import Clock, IncidentKind
from service.safety.tables import IncidentRow
from service.volunteers.tables import VolunteerRow
from tests.demo.conftest import program

ON_LIMBS = {BuildState.FITTED, BuildState.WORN}
TWO_YEARS = 730


@pytest.fixture(scope="module")
def today(shown) -> date:
    day: date = shown.clock().date()
    return day


def rows(shown, query) -> Any:
    with shown.db.reading() as session:
        return session.execute(query).all()


def objects(shown, table) -> list[Any]:
    with shown.db.reading() as session:
        return list(session.scalars(sa.select(table).order_by(*table.__table__.primary_key)))


@pytest.fixture(scope="module")
def requests(shown):
    return objects(shown, RequestRow)


@pytest.fixture(scope="module")
def site_of(shown):
    """The code of the site of a recipient."""
    query = sa.select(RecipientRow.id, SiteRow.code).join(SiteRow, SiteRow.id == RecipientRow.site_id)
    return dict(tuple(row) for row in rows(shown, query))


@pytest.fixture(scope="module")
def stays(shown):
    """Every stay that stands: part, device, kind, digit, since, until."""
    columns = (PlaceRow.id, PlaceRow.part_id, PlaceRow.device_id, PartRow.kind, PartRow.digit)
    query = sa.select(*columns, PlaceRow.since, PlaceRow.until).join(PartRow, PartRow.id == PlaceRow.part_id)
    return rows(shown, query.where(PlaceRow.came_off.is_distinct_from(EndReason.MISTAKE)))


def by(key, found: Iterable[Any]) -> dict[Any, list[Any]]:
    groups: dict[Any, list[Any]] = defaultdict(list)
    for each in found:
        groups[key(each)].append(each)
    return groups


def apart(found) -> bool:
    """Whether stays follow each other: none begins before the one before has ended."""
    in_order = sorted(found, key=lambda stay: (stay.since, stay.until or date.max))
    return all(before.until is not None and before.until <= after.since for before, after in pairwise(in_order))


# --- What holds of every row ------------------------------------------------------------------------------------------


def test_each_part_is_in_one_place_a_day_and_each_slot_holds_one(stays):
    assert all(apart(found) for found in by(lambda stay: stay.part_id, stays).values())
    slots = by(lambda stay: (stay.device_id, stay.kind, stay.digit), stays)
    assert [slot for slot, found in slots.items() if not apart(found)] == []
    assert all(stay.until is None or stay.since <= stay.until for stay in stays)


def test_requests_are_settled_after_they_were_asked_and_by_somebody(requests, shown):
    for each in requests:
        settled = each.state not in UNSETTLED
        assert (each.settled_at is not None) == (each.settled_by is not None) == settled
        if settled:
            assert each.asked_at <= each.settled_at <= shown.clock()
            assert each.settled_why or each.joined_into_id
        assert (each.device_id is None) or each.kind is not RequestKind.FIRST_DEVICE


def test_clocks_stand_still_only_while_something_is_asked_for(requests, shown):
    asked = {each.id: each for each in requests}
    waits = objects(shown, WaitRow)
    assert len(waits) > 10
    for each in waits:
        of = asked[each.request_id]
        assert of.asked_at.date() <= each.since
        assert each.until is None or each.since <= each.until
        assert of.settled_at is None or each.until <= of.settled_at.date()


def test_what_broke_was_asked_for_that_day_and_answered_on_the_day_of_the_next(requests, shown, stays):
    of = {stay.id: stay for stay in stays}
    put_in = {(stay.device_id, stay.kind, stay.digit, stay.since) for stay in stays}
    parts = by(lambda part: part.request_id, objects(shown, RequestPartRow))
    told = 0
    for each in requests:
        wanted = [part for part in parts[each.id] if part.place_id is not None]
        if each.kind is not RequestKind.REPLACEMENT or each.state is not RequestState.ANSWERED or not wanted:
            continue
        settled = each.settled_at.date()
        assert all((each.device_id, part.kind, part.digit, settled) in put_in for part in wanted)
        assert {of[part.place_id].device_id for part in wanted} == {each.device_id}
        off = min(of[part.place_id].until for part in wanted)
        if off < settled and {part.happened for part in wanted} == {WhatHappened.BROKEN}:
            assert each.asked_at.date() == off
            told += 1
    assert told > 100


def test_every_coupling_that_broke_and_was_replaced_was_asked_for(shown):
    asked = {place for (place,) in rows(shown, sa.select(RequestPartRow.place_id))}
    query = (
        sa.select(PlaceRow.id, PlaceRow.device_id, PlaceRow.until, PlaceRow.came_off, PlaceRow.since)
        .join(PartRow, PartRow.id == PlaceRow.part_id)
        .where(PartRow.kind == "wrist_coupling", PlaceRow.came_off.is_distinct_from(EndReason.MISTAKE))
    )
    places = rows(shown, query)
    begun = {(place.device_id, place.since) for place in places}
    broken = [place for place in places if place.came_off is EndReason.BROKEN]
    replaced = [each for each in broken if any(d == each.device_id and since > each.until for d, since in begun)]
    assert len(replaced) > 60
    assert [each.id for each in replaced if each.id not in asked] == []


def test_builds_went_from_state_to_state_as_they_may_and_in_order(shown):
    builds = {each.id: each for each in objects(shown, BuildRow)}
    moves = by(lambda move: move.build_id, objects(shown, BuildMoveRow))
    for build, found in moves.items():
        assert found[0].came_from is BuildState.PLANNED
        assert builds[build].opened_at <= found[0].at
        assert all(before.to is after.came_from and before.at <= after.at for before, after in pairwise(found))
        assert all(move.to in MOVES[move.came_from] for move in found)
        assert found[-1].to is builds[build].state
        assert 1 + sum(move.to is BuildState.SENT_BACK for move in found) == builds[build].round


def test_what_is_on_a_limb_was_checked_delivered_and_fitted_in_that_order_and_is_in_place(shown, stays, requests):
    worn = {each.id: each for each in objects(shown, BuildRow) if each.state in ON_LIMBS}
    checks = by(lambda check: check.build_id, objects(shown, CheckRow))
    deliveries = by(lambda delivery: delivery.build_id, objects(shown, DeliveryRow))
    fittings = {each.build_id: each for each in objects(shown, FittingRow) if each.fitted_on is not None}
    items = by(lambda item: item.build_id, objects(shown, BuildItemRow))
    parts = {each.item_id: each.part_id for each in objects(shown, BuildPartRow)}
    since = {stay.part_id: stay.since for stay in sorted(stays, key=lambda stay: stay.since, reverse=True)}
    settled = {each.id: each for each in requests}
    assert len(worn) > 150
    for build, row in worn.items():
        fitting, delivery = fittings[build], max(deliveries[build], key=lambda each: each.round)
        bench = [each for each in checks[build] if each.kind is CheckKind.BENCH and each.round == row.round]
        assert [each.passed for each in bench] == [True]
        assert row.opened_at.date() <= bench[0].checked_on <= delivery.on <= fitting.fitted_on
        assert settled[row.request_id].asked_at <= row.opened_at
        assert settled[row.request_id].settled_at.date() == fitting.fitted_on
        for item in items[build]:
            assert since.get(parts[item.id], fitting.fitted_on) == fitting.fitted_on


def test_every_item_that_is_printed_came_out_once_and_each_print_cost_something(shown):
    worn = {each.id: each for each in objects(shown, BuildRow) if each.state in ON_LIMBS}
    prints = by(lambda each: each.item_id, objects(shown, PrintRow))
    used = Counter(each.print_id for each in objects(shown, UseRow))
    for item in objects(shown, BuildItemRow):
        if item.build_id in worn and item.version_id is not None:
            good = [each for each in prints[item.id] if not each.failed_why and not each.discarded_why]
            assert sum(each.quantity for each in good) == item.quantity
            assert all(each.cents > 0 and each.grams > 0 and each.hours > 0 and used[each.id] for each in good)


def test_no_lot_gave_more_than_it_held(shown):
    query = sa.select(LotRow.batch, LotRow.quantity, sa.func.sum(UseRow.amount).label("used"))
    found = rows(shown, query.join(UseRow, UseRow.lot_id == LotRow.id).group_by(LotRow.id))
    assert len(found) > 20
    assert [each.batch for each in found if each.used > each.quantity] == []


def test_nobody_made_anything_before_they_came(shown):
    query = sa.select(VolunteerRow.since, BuildRow.opened_at).join(BuildRow, BuildRow.volunteer_id == VolunteerRow.id)
    assert all(since <= opened.date() for since, opened in rows(shown, query))


def test_follow_ups_of_long_ago_are_done(shown, today):
    waiting = program(shown, Role.COORDINATOR).get("/api/v1/follow-ups").json()
    late = [each for each in waiting["items"] if each["due_on"] < (today - timedelta(days=60)).isoformat()]
    assert late == []
    assert len(objects(shown, FollowUpRow)) > 400


# --- The story that the rows tell -------------------------------------------------------------------------------------


def test_three_years_of_requests_of_every_kind_at_every_site(requests, site_of, today):
    settled = [each for each in requests if each.state not in UNSETTLED and each.asked_at.year >= today.year - 3]
    answered = [each for each in settled if each.state is RequestState.ANSWERED]
    assert len(answered) >= 120
    assert len(settled) - len(answered) >= 20
    kinds = Counter((site_of[each.recipient_id], each.kind) for each in answered)
    assert set(kinds) == {(site, kind) for site in ("mer", "ost", "thr") for kind in RequestKind}
    months = Counter((each.settled_at.year, each.settled_at.month) for each in answered)
    assert sum(count >= 3 for count in months.values()) >= 30


def waits_of(requests, site_of, kind) -> dict[str, list[int]]:
    return {
        site: [(each.settled_at - each.asked_at).days for each in found]
        for site, found in by(lambda each: site_of[each.recipient_id], requests).items()
        for found in [[each for each in found if each.kind is kind and each.state is RequestState.ANSWERED]]
    }


@pytest.mark.parametrize("kind", [RequestKind.NEXT_SOCKET, RequestKind.REPLACEMENT, RequestKind.ADJUSTMENT])
def test_the_island_waits_longest_and_the_clinic_least_and_some_wait_far_longer(requests, site_of, kind):
    waits = waits_of(requests, site_of, kind)
    assert median(waits["ost"]) <= median(waits["mer"]) < median(waits["thr"])
    everybody = [days for found in waits.values() for days in found]
    assert mean(everybody) > median(everybody)


def test_promises_are_mostly_kept_and_some_are_not(requests):
    promised = [each for each in requests if each.promised_on is not None and each.state is RequestState.ANSWERED]
    kept = [each for each in promised if each.settled_at.date() <= each.promised_on]
    assert len(promised) > 150
    assert 0.5 < len(kept) / len(promised) < 0.9


def test_each_site_has_learned_how_long_making_takes(shown, site_of):
    query = sa.select(SiteRow.code, SiteRow.lead_days, LearnedLeadRow.median_days)
    found = rows(shown, query.join(LearnedLeadRow, LearnedLeadRow.site_id == SiteRow.id))
    assert {row.code for row in found} == set(site_of.values())
    assert all(0.6 < row.median_days / row.lead_days < 1.6 for row in found)


def still_worn(devices, today: date, after: int) -> float:
    """Kaplan and Meier, day by day: the share of devices that are worn so many days after they were begun."""
    lives = [
        (((each.stopped_on or today) - each.created_at.date()).days, each.use is Use.STOPPED)
        for each in devices
        if each.use is not Use.SPARE
    ]
    share = 1.0
    for day in range(1, after + 1):
        at_risk = sum(days >= day for days, _ in lives)
        share *= 1 - sum(days == day and stopped for days, stopped in lives) / at_risk
    return share


def test_a_quarter_or_so_have_given_their_device_up_after_two_years_and_kinds_differ(shown, today):
    devices = objects(shown, DeviceRow)
    assert all(each.stopped_reason and each.stopped_on >= each.created_at.date() for each in devices if each.stopped_on)
    assert 0.22 < 1 - still_worn(devices, today, TWO_YEARS) < 0.33
    purposes = by(lambda each: each.purpose, devices)
    given_up = {name: 1 - still_worn(purposes[name], today, TWO_YEARS) for name in purposes if len(purposes[name]) > 6}
    assert given_up["everyday, body-powered"] > 1.3 * given_up["everyday"]
    begun = Counter(each.created_at.year for each in devices)
    assert len(begun) >= 6


def test_incidents_over_the_years_of_each_kind_and_severity_are_mostly_closed(shown, today):
    incidents = objects(shown, IncidentRow)
    assert 15 <= len(incidents) <= 25
    assert {each.kind for each in incidents} == set(IncidentKind)
    assert {each.serious for each in incidents} == {None, False, True}
    allowed = {(each.report_by - each.aware_on).days for each in incidents if each.serious}
    assert allowed == {clock.days for clock in Clock}
    closed = [each for each in incidents if each.closed_at is not None]
    assert len(closed) >= 0.75 * len(incidents)
    assert all(each.aware_on <= each.judged_at.date() <= each.closed_at.date() and each.outcome for each in closed)
    late = [each for each in closed if each.serious and each.reported_on and each.reported_on > each.report_by]
    assert len(late) == 1
    assert len({each.aware_on.year for each in incidents}) >= 4
