"""Queued work is done once, whole, whatever dies on the way."""

from __future__ import annotations

import threading
from datetime import timedelta
from typing import Any

import pytest
import sqlalchemy as sa

from service import worker
from service.access.work import Work
from service.audit.actions import note
from service.audit.tables import AuditRow
from service.kit.jobs import LEASE, MOST_ATTEMPTS, JobRow, JobState, claim, enqueue, fail, finish, unfinished
from tests.conftest import Register

KIND = "test.note"


@pytest.fixture
def failures() -> list[Exception]:
    """What the next tries of the job shall raise."""
    return []


@pytest.fixture(autouse=True)
def handler(monkeypatch: pytest.MonkeyPatch, failures: list[Exception]) -> None:
    def write_a_note(work: Work, payload: dict[str, Any]) -> None:
        note(work, "noted", "test", subject_id=payload["number"])
        if failures:
            raise failures.pop()

    monkeypatch.setitem(worker.HANDLERS, KIND, write_a_note)


def ask(register: Register, number: int = 1) -> bool:
    with register.db.writing() as session:
        return enqueue(
            session, KIND, now=register.clock(), key=f"{KIND}:{number}", subject_id=number, payload={"number": number}
        )


def notes(register: Register) -> list[int | None]:
    with register.db.reading() as session:
        return list(
            session.scalars(sa.select(AuditRow.subject_id).where(AuditRow.act == "noted").order_by(AuditRow.id))
        )


def job(register: Register) -> JobRow:
    with register.db.reading() as session:
        return session.scalars(sa.select(JobRow).where(JobRow.kind == KIND)).one()


def waits(register: Register, number: int = 1) -> bool:
    with register.db.reading() as session:
        return bool(unfinished(session, KIND, [number])[number])


def test_work_asked_for_twice_is_done_once(register: Register) -> None:
    assert ask(register)
    assert not ask(register)
    assert waits(register)
    assert register.run_jobs() == 1
    assert notes(register) == [1]
    assert not waits(register)


def test_a_change_during_the_work_asks_again(register: Register) -> None:
    ask(register)
    with register.db.writing() as session:
        held = claim(session, register.clock())
    assert held is not None
    assert ask(register), "the running job may have read before the change"
    with register.db.writing() as session:
        assert finish(session, held, register.clock())
    assert waits(register)
    assert register.run_jobs() == 1


def test_a_dead_workers_job_is_taken_over_when_its_lease_ends(register: Register) -> None:
    ask(register)
    with register.db.writing() as session:
        dead = claim(session, register.clock())
    assert register.run_jobs() == 0
    register.clock.forward(seconds=LEASE.total_seconds() + 1)
    assert register.run_jobs() == 1
    assert notes(register) == [1]
    assert dead is not None
    with register.db.writing() as session:
        assert not finish(session, dead, register.clock()), "a lost lease cannot finish the job again"


def test_the_work_of_a_lost_lease_is_rolled_back(register: Register, monkeypatch: pytest.MonkeyPatch) -> None:
    ask(register)
    monkeypatch.setattr(worker, "finish", lambda *_: False)
    assert worker.run_one(register.db, register.clock)
    assert notes(register) == []


def test_a_failing_job_leaves_nothing_waits_longer_and_is_given_up(
    register: Register, failures: list[Exception]
) -> None:
    ask(register)
    failures += [RuntimeError("no luck")] * MOST_ATTEMPTS
    waited = []
    for _ in range(MOST_ATTEMPTS):
        assert register.run_jobs() == 1
        waited.append(job(register).run_at - register.clock())
        register.clock.forward(days=1)
    assert notes(register) == []
    assert waited[:-1] == sorted(waited[:-1])
    assert waited[0] > timedelta()
    assert job(register).state is JobState.FAILED
    assert job(register).problem == "RuntimeError: no luck"
    assert waits(register), "what was given up is still out of date, and a page must say so"
    assert register.run_jobs() == 0


def test_a_change_wakes_a_failed_job_that_waits(register: Register, failures: list[Exception]) -> None:
    ask(register)
    failures.append(RuntimeError("no luck"))
    assert register.run_jobs() == 1
    assert register.run_jobs() == 0, "it waits for its next try"
    ask(register)
    assert register.run_jobs() == 1
    assert notes(register) == [1]


def test_a_job_that_stops_every_worker_is_given_up(register: Register) -> None:
    ask(register)
    for _ in range(MOST_ATTEMPTS):
        with register.db.writing() as session:
            assert claim(session, register.clock()) is not None
        register.clock.forward(seconds=LEASE.total_seconds() + 1)
    assert register.run_jobs() == 0
    assert job(register).state is JobState.FAILED


@pytest.mark.postgres
def test_a_waiting_job_is_not_taken_before_the_change_that_asked_again_is_committed(register: Register) -> None:
    ask(register)
    with register.db.writing() as changing:
        assert not enqueue(changing, KIND, now=register.clock(), key=f"{KIND}:1", subject_id=1, payload={"number": 1})
        with register.db.writing() as session:
            assert claim(session, register.clock()) is None
    assert register.run_jobs() == 1


def test_what_is_long_done_is_cleared_away_and_what_failed_is_not(
    register: Register, failures: list[Exception]
) -> None:
    ask(register, 1)
    register.run_jobs()
    ask(register, 2)
    failures += [RuntimeError("no luck")] * MOST_ATTEMPTS
    for _ in range(MOST_ATTEMPTS):
        register.run_jobs()
        register.clock.forward(days=1)
    register.clock.forward(days=31)
    worker.schedule_daily(register.db, register.clock)
    register.run_jobs()
    with register.db.reading() as session:
        left = session.scalars(sa.select(JobRow.key).where(JobRow.kind == KIND)).all()
    assert left == [f"{KIND}:2"]


def test_success_settles_what_was_given_up_before(register: Register, failures: list[Exception]) -> None:
    ask(register)
    failures += [RuntimeError("no luck")] * MOST_ATTEMPTS
    for _ in range(MOST_ATTEMPTS):
        register.run_jobs()
        register.clock.forward(days=1)
    ask(register)
    assert register.run_jobs() == 1
    assert not waits(register)


def test_a_failed_try_gives_way_to_the_same_work_asked_anew(register: Register) -> None:
    ask(register)
    with register.db.writing() as session:
        held = claim(session, register.clock())
    ask(register)
    assert held is not None
    with register.db.writing() as session:
        assert fail(session, held, register.clock(), "no luck")
    assert register.run_jobs() == 1
    assert notes(register) == [1]


def test_three_workers_share_forty_jobs_and_do_each_once(register: Register) -> None:
    for number in range(40):
        ask(register, number)

    def work_through() -> None:
        while worker.run_one(register.db, register.clock) or waits_for_any(register):
            pass

    threads = [threading.Thread(target=work_through) for _ in range(3)]
    for thread in threads:
        thread.start()
    for thread in threads:
        thread.join(timeout=60)
    assert sorted(number for number in notes(register) if number is not None) == list(range(40))


def waits_for_any(register: Register) -> bool:
    with register.db.reading() as session:
        return bool(session.scalar(sa.select(sa.exists().where(JobRow.state == JobState.QUEUED))))


def test_a_days_scheduled_work_is_queued_once(register: Register, monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr(worker, "DAILY", (KIND,))

    def count() -> int:
        with register.db.reading() as session:
            return session.scalar(sa.select(sa.func.count()).select_from(JobRow)) or 0

    for _ in range(3):
        worker.schedule_daily(register.db, register.clock)
    assert count() == 1
    register.clock.forward(days=1)
    worker.schedule_daily(register.db, register.clock)
    assert count() == 1, "yesterday's is still waiting: one is enough"
