"""The demo tells of builds in every state, each block there is, checks, hand-overs and safety notices."""

from __future__ import annotations

from collections import Counter

import pytest
import sqlalchemy as sa

from service.access.permissions import Role
from service.builds.rules import UNDER_WAY, BuildState
from service.builds.tables import BuildMoveRow, BuildRow, PrintRow
from service.gate.blocks import BlockCode
from service.gate.checklists import CheckKind
from service.gate.tables import CheckRow
from service.matching.rules import OfferState
from service.matching.tables import OfferRow
from service.notices.rules import Answer, NoticeKind
from service.notifications.tables import MessageRow
from service.requests.rules import RequestState
from service.requests.tables import RequestRow
from tests.demo.conftest import everything, program


@pytest.fixture(scope="module")
def coordinator(shown):
    return program(shown, Role.COORDINATOR)


@pytest.fixture(scope="module")
def builds(coordinator):
    return everything(coordinator, "/api/v1/builds", ever=True)


@pytest.fixture(scope="module")
def codes(coordinator, builds):
    """What stands in the way of each build under way, by its number."""
    return {
        build["id"]: {each["code"] for each in coordinator.get(f"/api/v1/builds/{build['id']}/blocks").json()["items"]}
        for build in builds
        if build["state"] in UNDER_WAY
    }


def rows(shown, query):
    with shown.db.reading() as session:
        return session.execute(query).all()


def test_builds_stand_in_every_state(builds):
    assert {build["state"] for build in builds} == set(BuildState)


def test_every_block_there_is_stands_somewhere(codes):
    assert set().union(*codes.values()) == set(BlockCode)


def test_each_build_that_is_held_up_is_held_up_for_a_reason_of_its_own(codes):
    reasons = [found - {BlockCode.BENCH_CHECK} for found in codes.values()]
    held_up = [found for found in reasons if found]
    assert [len(found) for found in held_up] == [1] * len(held_up)
    assert Counter(code for found in held_up for code in found) == dict.fromkeys(set(BlockCode) - {"bench_check"}, 1)
    assert held_up != reasons  # some have nothing in the way but the work


def test_some_prints_failed_and_for_several_reasons(shown):
    failed = {why for (why,) in rows(shown, sa.select(PrintRow.failed_why))}
    assert None in failed
    assert len(failed) > 5


def test_nobody_signed_the_bench_check_of_what_they_made(shown):
    made = sa.select(BuildMoveRow.build_id, BuildMoveRow.by).where(BuildMoveRow.to == BuildState.MADE)
    makers = {tuple(each) for each in rows(shown, made)}
    signed = sa.select(CheckRow.build_id, CheckRow.signed_by).where(CheckRow.kind == CheckKind.BENCH)
    checkers = {tuple(each) for each in rows(shown, signed)}
    assert len({who for _, who in checkers}) == 3
    assert makers
    assert not makers & checkers


def test_a_clinician_accepted_one_in_writing_and_it_is_worn(coordinator, builds):
    gates = {build["id"]: coordinator.get(f"/api/v1/builds/{build['id']}/gate").json() for build in builds}
    ((accepted, state),) = [(each["acceptances"], each["state"]) for each in gates.values() if each["acceptances"]]
    assert [each["code"] for each in accepted] == [BlockCode.SMALL_CHILD]
    assert state == BuildState.WORN


def test_a_fitting_that_failed_sent_its_build_back_and_its_finding_is_read(shown):
    failed = sa.select(BuildRow.state, BuildMoveRow.why).join(CheckRow, CheckRow.build_id == BuildRow.id)
    failed = failed.join(BuildMoveRow, BuildMoveRow.build_id == BuildRow.id)
    failed = failed.where(CheckRow.kind == CheckKind.FITTING, CheckRow.passed.is_(False))
    ((state, why),) = rows(shown, failed.where(BuildMoveRow.to == BuildState.SENT_BACK))
    assert state is BuildState.SENT_BACK
    assert "gaping" in why


def test_an_adult_was_fitted_without_a_prescription_by_a_rule_of_the_trustees(shown, coordinator, builds):
    (rule,) = program(shown, Role.TRUSTEE).get("/api/v1/site-rules").json()["items"]
    assert (rule["rule"], rule["site"]) == ("legal_basis", "thr")
    without = {
        build["id"]: build["state"]
        for build in builds
        if not coordinator.get(f"/api/v1/recipients/{build['case_number']}").json()["prescriber_name"]
    }
    assert BuildState.FITTED in without.values()


def test_a_request_is_answered_once_what_was_made_for_it_is_fitted(shown):
    query = sa.select(BuildRow.state, RequestRow.state).join(RequestRow, RequestRow.id == BuildRow.request_id)
    states = rows(shown, query)
    fitted = {BuildState.FITTED, BuildState.WORN}
    assert {request for state, request in states if state in fitted} == {RequestState.ANSWERED}
    assert {request for state, request in states if state in UNDER_WAY} == {RequestState.AGREED}


def test_each_offer_that_was_accepted_led_to_a_build(shown):
    accepted = {offer for (offer,) in rows(shown, sa.select(OfferRow.id).where(OfferRow.state == OfferState.ACCEPTED))}
    opened = {offer for (offer,) in rows(shown, sa.select(BuildRow.offer_id))}
    answered = sa.select(OfferRow.id).join(BuildRow, BuildRow.offer_id == OfferRow.id)
    answered = answered.where(BuildRow.state.in_({BuildState.FITTED, BuildState.WORN}))
    assert accepted
    assert accepted <= opened
    assert rows(shown, answered)


def test_one_notice_is_open_with_some_answers_and_others_were_closed_with_nothing_left(coordinator):
    notices = [
        coordinator.get(f"/api/v1/notices/{each['id']}").json()
        for each in everything(coordinator, "/api/v1/notices", all=True)
    ]
    (opened,) = [each for each in notices if each["closed_at"] is None]
    closed = [each for each in notices if each["closed_at"] is not None]
    newest = max(closed, key=lambda each: each["opened_at"])
    answers = [each["answer"] for each in opened["affected"]["items"]]
    assert (opened["kind"], len(answers)) == ("version", 3)
    assert {Answer.STOPPED, Answer.NOT_WORN, None} == set(answers)
    assert [each["state"] for each in opened["affected"]["builds"]] == [BuildState.CLEARED]
    assert {each["kind"] for each in closed} == set(NoticeKind)
    assert [each["remaining_everywhere"] for each in closed] == [0] * 4
    assert all(each["opened_at"] < each["closed_at"] and each["outcome"] for each in closed)
    assert all(each["affected"]["replaced"] for each in closed)
    assert [each["answer"] for each in newest["affected"]["replaced"]] == [Answer.STOPPED]


def test_families_and_makers_were_told(shown):
    subjects = Counter(subject for (subject,) in rows(shown, sa.select(MessageRow.subject)))
    assert subjects["Safety notice on something you are making"] == 1
    assert len(list((shown.settings.mail_folder).glob("*"))) > 5
