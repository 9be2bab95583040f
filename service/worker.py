"""Runs queued and scheduled jobs, in a thread of the server or as a process of its own (`handspan work`)."""

from __future__ import annotations

import threading
from collections.abc import Callable
from datetime import datetime, time, timedelta
from typing import Any

import structlog
from sqlalchemy.exc import SQLAlchemyError

from service.access.actor import SYSTEM
from service.access.work import Work
from service.builds import jobs as builds
from service.family import jobs as family
from service.figures import jobs as figures
from service.growth import jobs as growth
from service.kit.clock import Clock
from service.kit.db import Database
from service.kit.jobs import Claim, anything_due, asked_since, claim, enqueue, fail, finish, forget_finished
from service.matching import jobs as matching
from service.notifications import jobs as notifications
from service.requests import jobs as requests
from service.settings import Settings
from service.web.idempotency import forget_answers

log = structlog.get_logger()

Handler = Callable[[Work, dict[str, Any]], None]

KEPT = timedelta(days=30)
"""How long finished jobs and the answers to an Idempotency-Key are kept."""

UPKEEP = "upkeep"


def _upkeep(work: Work, _payload: dict[str, Any]) -> None:
    forget_finished(work.session, work.now - KEPT)
    forget_answers(work.session, work.now - KEPT)


HANDLERS: dict[str, Handler] = {
    **growth.HANDLERS,
    **requests.HANDLERS,
    **matching.HANDLERS,
    **family.HANDLERS,
    **builds.HANDLERS,
    UPKEEP: _upkeep,
}
DAILY: tuple[str, ...] = (
    *requests.BEFORE_FORECASTS,
    *growth.DAILY,
    *requests.DAILY,
    *matching.DAILY,
    *figures.DAILY,
    *family.DAILY,
    UPKEEP,
)

Errand = Callable[[Settings, Work, dict[str, Any]], Callable[[], Any] | None]
ERRANDS: dict[str, tuple[Errand, Callable[[Work, dict[str, Any], Any], None]]] = {
    **notifications.ERRANDS,
    **requests.ERRANDS,
    **figures.ERRANDS,
}
"""Work that takes something outside, such as a mail server: a look at what is to be done (reading), what it takes
outside while no transaction is open, and writing down what came of it."""

IDLE_SECONDS = 0.5


def run_one(db: Database, clock: Clock, settings: Settings | None = None) -> bool:
    """Do one job if any is due; the work, its audit and the mark that it is done are one transaction.

    Without settings nothing is done outside: a mail waits, as if no mail server were set up.
    """
    with db.reading() as session:  # a look without a write lock, so that idling disturbs nobody
        if not anything_due(session, clock()):
            return False
    with db.writing() as session:
        held = claim(session, clock())
    if held is None:
        return False
    try:
        _carry_out(db, clock, held, settings)
    except LeaseLostError:
        log.warning("job_lease_lost", job=held.id, kind=held.kind)
    except Exception as error:  # noqa: BLE001 whatever a job raises must not stop the worker
        _record_failure(db, clock, held, error)
    return True


class LeaseLostError(Exception):
    """Another worker took the job over; this one's work is rolled back."""


def schedule_daily(db: Database, clock: Clock) -> None:
    """Ask for today's scheduled work; any number of workers may ask, it is queued once."""
    now = clock()
    for kind in DAILY:
        with db.writing() as session:
            since_midnight = datetime.combine(now.date(), time.min, now.tzinfo)
            if not asked_since(session, kind, since_midnight):
                enqueue(session, kind, now=now, key=kind)


def run_until(stop: threading.Event, db: Database, clock: Clock, settings: Settings) -> None:
    """Work until told to stop; a database that cannot be reached is waited for."""
    scheduled_on = None
    while not stop.is_set():
        try:
            if scheduled_on != clock().date():
                schedule_daily(db, clock)
                scheduled_on = clock().date()
            busy = run_one(db, clock, settings)
        except SQLAlchemyError as error:
            log.warning("worker_waits_for_database", error=type(error).__name__)
            busy = False
        if not busy:
            stop.wait(IDLE_SECONDS)


def _carry_out(db: Database, clock: Clock, held: Claim, settings: Settings | None) -> None:
    do = HANDLERS[held.kind] if held.kind in HANDLERS else _after_errand(db, clock, held, settings)
    with db.writing() as session:
        do(Work(session, SYSTEM, clock()), held.payload)
        if not finish(session, held, clock()):
            raise LeaseLostError(held.kind)


def _after_errand(db: Database, clock: Clock, held: Claim, settings: Settings | None) -> Handler:
    """Do what a job takes outside, and give what is left to do in its transaction."""
    errand, record = ERRANDS[held.kind]
    outcome = None
    if settings is not None:
        with db.reading() as session:
            go = errand(settings, Work(session, SYSTEM, clock()), held.payload)
        outcome = go() if go is not None else None
    return lambda work, payload: record(work, payload, outcome)


def _record_failure(db: Database, clock: Clock, held: Claim, error: Exception) -> None:
    log.error("job_failed", job=held.id, kind=held.kind, attempt=held.attempts, exc_info=error)
    with db.writing() as session:
        fail(session, held, clock(), f"{type(error).__name__}: {error}"[:500])
