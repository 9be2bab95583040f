"""The demo as somebody finds it who has just typed `handspan demo`."""

from __future__ import annotations

from collections.abc import Iterator
from typing import Any

import pytest
import sqlalchemy as sa

from service import demo
from service.access.permissions import PEOPLE, Role
from service.audit.tables import AuditRow
from service.demo import story
from service.devices.rules import EndReason, Fit
from service.devices.tables import SocketRow, SockReportRow
from service.kit.db import Base, Database
from service.kit.files import Files
from service.kit.jobs import JobRow, JobState
from service.matching.rules import OfferState
from service.matching.tables import OfferRow, PlanRow
from service.measurements.tables import ReadingRow
from service.notifications.rules import Channel, MessageState
from service.notifications.tables import MessageRow
from service.recipients.rules import CaseState, Cause, Level, Reach, Side
from service.recipients.tables import ContactRow, LimbRow, RecipientRow
from service.requests.rules import Asker, RequestKind, RequestState, WaitsFor
from service.requests.tables import RequestRow, WaitRow
from service.safety.tables import IncidentRow
from service.volunteers.rules import Skill
from service.volunteers.tables import TrainingRow
from tests.accounts.people import sign_in
from tests.conftest import MovableClock, Register
from tests.demo.conftest import everything, program
from tests.family.people import let_in

FILLED_BY_VISITORS = {
    *("sessions", "sign_in_tries", "idempotent_answers", "family_link_tries"),
    *("quiet_wishes", "matching_weights", "request_photos", "calendar_feeds", "stopped_mailboxes"),
}
"""Filled by what only somebody who sits there does: signs in, mistypes, shows a picture, wishes something."""


@pytest.fixture
def empty(url: str) -> Iterator[Database]:
    db = Database(url)
    yield db
    db.close()


@pytest.fixture(scope="module")
def work_list(shown: Register) -> list[dict[str, Any]]:
    return everything(program(shown, Role.COORDINATOR), "/api/v1/work-list")


def test_there_is_one_person_for_each_role():
    assert [person.role for person in demo.PEOPLE] == list(PEOPLE)


@pytest.mark.parametrize("person", demo.PEOPLE, ids=lambda person: person.role)
def test_everybody_can_sign_in_as_printed(shown, person):
    browser = shown.browser()
    assert sign_in(browser, person.email, person.password).status_code == 303
    assert person.name in browser.get("/account").text


def test_every_table_has_something_to_show(shown):
    with shown.db.reading() as session:
        empty = {
            table.name
            for table in Base.metadata.sorted_tables
            if not session.scalar(sa.select(sa.func.count()).select_from(table))
        }
    assert empty <= FILLED_BY_VISITORS


@pytest.mark.parametrize(
    ("column", "words"),
    [
        (RecipientRow.state, CaseState),
        (LimbRow.cause, Cause),
        (LimbRow.side, Side),
        (ContactRow.reach_by, Reach),
        (SockReportRow.fit, Fit),
        (RequestRow.kind, RequestKind),
        (RequestRow.state, RequestState),
        (RequestRow.asker, Asker),
        (TrainingRow.skill, Skill),
    ],
    ids=str,
)
def test_every_kind_of_case_is_there(shown, column, words):
    with shown.db.reading() as session:
        assert set(session.scalars(sa.select(column).distinct())) == set(words)


def test_offers_and_messages_stand_in_many_ways(shown):
    with shown.db.reading() as session:
        offers = set(session.scalars(sa.select(OfferRow.state).distinct()))
        messages = set(session.scalars(sa.select(MessageRow.state).distinct()))
        channels = set(session.scalars(sa.select(MessageRow.channel).distinct()))
        waits = set(session.scalars(sa.select(WaitRow.waits_for).where(WaitRow.until.is_(None)).distinct()))
        judged = set(session.scalars(sa.select(IncidentRow.serious).distinct()))
        plans = list(session.scalars(sa.select(PlanRow.settled_at)))
    assert offers >= {OfferState.WAITING, OfferState.ACCEPTED, OfferState.DECLINED, OfferState.LAPSED}
    assert MessageState.SENT in messages
    assert channels >= {Channel.MAIL, Channel.CALL}
    assert waits == set(WaitsFor)
    assert judged == {None, True, False}
    assert plans.count(None) == 1  # today's, which waits for the coordinator


def test_the_printed_family_link_opens(shown):
    door = demo.family_door(shown.db)
    assert door is not None
    key, born = door
    browser = let_in(shown, f"/family/{key}", {"month": str(born.month), "year": str(born.year)})
    assert "Ines" in browser.get(f"/family/{key}").text


def test_limbs_end_nearly_everywhere_and_sockets_end_for_many_reasons(shown):
    with shown.db.reading() as session:
        levels = set(session.scalars(sa.select(LimbRow.level).distinct()))
        reasons = set(session.scalars(sa.select(SocketRow.end_reason).distinct()))
    assert set(Level) - levels == {Level.UPPER_ARM_UPPER}
    assert {EndReason.OUTGROWN, EndReason.BROKEN, EndReason.WORN_OUT, None} <= reasons


def test_some_are_tight_some_are_due_and_some_have_years(shown, work_list):
    today = shown.clock().date().isoformat()
    sockets = [item for item in work_list if item["socket"] is not None]
    start = {
        "now": [item for item in sockets if item["start_by"] is not None and item["start_by"] <= today],
        "later": [item for item in sockets if item["start_by"] is not None and item["start_by"] > today],
    }
    assert any(item["already"] > 0.5 for item in start["now"])
    assert 3 <= len(start["now"]) < len(start["later"])
    assert {item["site"] for item in start["now"]} == {site.code for site in demo.SITES}


def test_some_have_room_for_more_than_three_years(shown):
    with shown.db.reading() as session:
        newest = Base.metadata.tables["forecasts"]
        never = session.scalar(
            sa.select(sa.func.count()).where(newest.c.is_newest, newest.c.p10.is_(None)).select_from(newest)
        )
    assert never


def test_something_is_overdue_and_something_is_missing(work_list):
    kinds = {item["kind"] for item in work_list}
    assert len(kinds) > 2
    assert any(item["missing"] for item in work_list)


def test_slips_were_corrected_and_surprises_confirmed(shown):
    with shown.db.reading() as session:
        readings = session.execute(sa.select(ReadingRow.struck_at, ReadingRow.doubts, ReadingRow.corrects_id)).all()
    assert any(reading.corrects_id for reading in readings)
    doubted = [reading for reading in readings if reading.doubts and reading.struck_at is None]
    assert 0 < len(doubted) < len(readings) / 50


def test_no_forecast_is_left_to_be_worked_out(shown):
    with shown.db.reading() as session:
        assert JobState.DONE in set(session.scalars(sa.select(JobRow.state)))
        late = sa.select(JobRow.kind).where(JobRow.state != JobState.DONE, JobRow.run_at <= shown.clock())
        assert list(session.scalars(late)) == []


def test_history_lies_in_the_past_and_is_on_record_act_by_act(shown):
    with shown.db.reading() as session:
        moments = list(session.scalars(sa.select(AuditRow.at).where(AuditRow.act != "read").order_by(AuditRow.id)))
    story = [moment for moment in moments if moment < shown.clock()]
    assert story == sorted(story)
    assert max(moments) <= shown.clock()


@pytest.mark.parametrize("name", ["Zoë", "nguyen", "الصباغ", "Ravi"])
def test_people_of_many_languages_are_found_by_name(shown, name):
    found = program(shown, Role.COORDINATOR).get("/api/v1/recipients", params={"q": name}).json()
    assert len(found["items"]) == 1


def test_the_volunteer_sees_only_those_they_help(shown):
    helped = everything(program(shown, Role.VOLUNTEER), "/api/v1/recipients")
    everybody = everything(program(shown, Role.COORDINATOR), "/api/v1/recipients")
    assert 3 <= len(helped) < len(everybody)


def test_a_demo_is_known_as_one(shown):
    assert demo.is_demo(shown.db) is True


def test_a_register_with_sites_of_its_own_is_no_demo(register):
    assert demo.is_demo(register.db) is False


def test_an_empty_register_is_neither(empty):
    assert demo.is_demo(empty) is None


def test_a_demo_that_is_killed_while_it_is_made_leaves_nothing(empty, monkeypatch, tmp_path):
    def killed(*_: object) -> None:
        raise KeyboardInterrupt

    monkeypatch.setitem(story.ACTS, "socket", killed)
    with pytest.raises(KeyboardInterrupt):
        demo.build(empty, MovableClock(), Files(str(tmp_path)))
    assert demo.is_demo(empty) is None
