"""Queued work, kept in the database so that a job is as durable as the change that asked for it.

A job is written in the transaction of its cause. A worker claims it under a lease, does the work and marks it done
in one transaction: a worker that dies leaves no half work, its lease runs out, and another takes the job. A job
that keeps failing waits longer each time and is given up after `MOST_ATTEMPTS`, where a page can show it.
"""

from __future__ import annotations

import enum
import secrets
from collections.abc import Collection
from dataclasses import dataclass
from datetime import datetime, timedelta
from typing import Any

import sqlalchemy as sa
from sqlalchemy.orm import Mapped, Session, mapped_column

from service.kit.db import Base, insert_unless_there, word

LEASE = timedelta(minutes=2)
MOST_ATTEMPTS = 6
FIRST_WAIT = timedelta(seconds=5)


class JobState(enum.StrEnum):
    """Where a job stands; a running one whose lease ran out counts as queued."""

    QUEUED = "queued"
    RUNNING = "running"
    DONE = "done"
    FAILED = "failed"


class JobRow(Base):
    """One piece of queued work. `key` is unique among the queued: asking twice is asking once."""

    __tablename__ = "jobs"
    __table_args__ = (
        sa.Index(
            "uq_jobs_waiting_key",
            "key",
            unique=True,
            sqlite_where=sa.text("state = 'queued'"),
            postgresql_where=sa.text("state = 'queued'"),
        ),
        sa.Index("ix_jobs_state_run_at", "state", "run_at"),
        sa.Index("ix_jobs_kind_subject_id", "kind", "subject_id"),
    )

    id: Mapped[int] = mapped_column(primary_key=True)
    kind: Mapped[str]
    key: Mapped[str]
    subject_id: Mapped[int | None]
    payload: Mapped[dict[str, Any]]
    state: Mapped[JobState] = mapped_column(word(JobState), default=JobState.QUEUED)
    run_at: Mapped[datetime]
    attempts: Mapped[int] = mapped_column(default=0)
    lease: Mapped[str | None]
    lease_until: Mapped[datetime | None]
    problem: Mapped[str | None]
    created_at: Mapped[datetime]
    finished_at: Mapped[datetime | None]


@dataclass(frozen=True)
class Claim:
    """A job in this worker's hands until the lease runs out."""

    id: int
    kind: str
    payload: dict[str, Any]
    lease: str
    attempts: int


def enqueue(
    session: Session,
    kind: str,
    *,
    now: datetime,
    key: str,
    subject_id: int | None = None,
    payload: dict[str, Any] | None = None,
    run_at: datetime | None = None,
) -> bool:
    """Ask for work, in the caller's transaction; False when the same is already waiting.

    A running job does not count as waiting: it may have read before this change was made, so another follows it.
    One that failed and waits for its next try is tried at once: what it stumbled over may be what has changed.
    """
    due = run_at or now
    row = {
        "kind": kind,
        "key": key,
        "subject_id": subject_id,
        "payload": payload or {},
        "state": JobState.QUEUED,
        "run_at": due,
        "attempts": 0,
        "created_at": now,
    }
    # Touching the waiting row locks it until this change is committed: a worker that took it sooner would not see the
    # change. If a worker was quicker there is no waiting row any more, and a new one is written.
    waiting = sa.update(JobRow).where(JobRow.key == key, JobRow.state == JobState.QUEUED)
    sooner = waiting.values(run_at=sa.case((JobRow.run_at > due, due), else_=JobRow.run_at), attempts=0)
    while not insert_unless_there(session, JobRow, row):
        if session.execute(sooner, execution_options={"synchronize_session": False}).rowcount:  # type: ignore[attr-defined]
            return False
    return True


def _due(now: datetime) -> sa.ColumnElement[bool]:
    return sa.or_(
        sa.and_(JobRow.state == JobState.QUEUED, JobRow.run_at <= now),
        sa.and_(JobRow.state == JobState.RUNNING, JobRow.lease_until < now),
    )


def anything_due(session: Session, now: datetime) -> bool:
    """Whether there is a job to claim."""
    return bool(session.scalar(sa.select(sa.exists().where(_due(now)))))


def asked_since(session: Session, kind: str, moment: datetime) -> bool:
    """Whether work of a kind was asked for since a moment, finished or not."""
    return bool(session.scalar(sa.select(sa.exists().where(JobRow.kind == kind, JobRow.created_at >= moment))))


def claim(session: Session, now: datetime) -> Claim | None:
    """Take the oldest job that is due, or whose worker died; None when there is nothing to do.

    A job whose workers died again and again is given up: it may be what kills them.
    """
    while (job := _oldest_due(session, now)) is not None and job.attempts >= MOST_ATTEMPTS:
        job.state, job.finished_at, job.lease = JobState.FAILED, now, None
        job.problem = job.problem or "every worker that tried this stopped before it was done"
        session.flush()  # the next look must not find it again
    if job is None:
        return None
    job.state, job.attempts = JobState.RUNNING, job.attempts + 1
    job.lease, job.lease_until = secrets.token_hex(8), now + LEASE
    return Claim(job.id, job.kind, job.payload, job.lease, job.attempts)


def _oldest_due(session: Session, now: datetime) -> JobRow | None:
    due = sa.select(JobRow).where(_due(now)).order_by(JobRow.run_at, JobRow.id).limit(1)
    return session.scalars(due.with_for_update(skip_locked=True)).first()


def finish(session: Session, held: Claim, now: datetime) -> bool:
    """Mark a job done, in the transaction of its work; False when the lease was lost, and then the work must not count.

    Success also settles earlier tries of the same work that had been given up.
    """
    if not _settle(session, held, state=JobState.DONE, finished_at=now, lease=None, problem=None):
        return False
    key = sa.select(JobRow.key).where(JobRow.id == held.id).scalar_subquery()
    given_up = sa.update(JobRow).where(JobRow.key == key, JobRow.state == JobState.FAILED)
    session.execute(given_up.values(state=JobState.DONE), execution_options={"synchronize_session": False})
    return True


def fail(session: Session, held: Claim, now: datetime, problem: str) -> bool:
    """Put a failed job back with a growing wait, or give it up after the last attempt."""
    if held.attempts >= MOST_ATTEMPTS:
        return _settle(session, held, state=JobState.FAILED, finished_at=now, lease=None, problem=problem)
    key = session.scalar(sa.select(JobRow.key).where(JobRow.id == held.id))
    newer = session.scalar(sa.select(JobRow.id).where(JobRow.key == key, JobRow.state == JobState.QUEUED))
    if newer is not None:  # the same work waits again already; this try is over
        return _settle(session, held, state=JobState.DONE, finished_at=now, lease=None, problem=problem)
    wait = FIRST_WAIT * 4 ** (held.attempts - 1)
    return _settle(session, held, state=JobState.QUEUED, run_at=now + wait, lease=None, problem=problem)


def _settle(session: Session, held: Claim, **values: Any) -> bool:
    mine = sa.update(JobRow).where(JobRow.id == held.id, JobRow.lease == held.lease).values(**values)
    return session.execute(mine).rowcount == 1  # type: ignore[attr-defined, no-any-return]


def forget_finished(session: Session, before: datetime) -> None:
    """Clear away jobs that were done before a moment; what failed stays, for somebody to look at."""
    session.execute(sa.delete(JobRow).where(JobRow.state == JobState.DONE, JobRow.finished_at < before))


def unfinished(session: Session, kind: str, subjects: Collection[int]) -> dict[int | None, set[JobState]]:
    """The states of work of a kind that is not done yet, by subject: what it will change is out of date."""
    states: dict[int | None, set[JobState]] = {subject: set() for subject in subjects}
    rows = session.execute(
        sa.select(JobRow.subject_id, JobRow.state).where(
            JobRow.kind == kind, JobRow.state != JobState.DONE, JobRow.subject_id.in_(subjects)
        )
    )
    for subject, state in rows:
        states[subject].add(state)
    return states
