"""Reading measurements, narrowed to what the actor may see."""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from datetime import date
from typing import Any

import sqlalchemy as sa

from service.access.permissions import May
from service.access.usecase import usecase
from service.access.work import Work
from service.anthropometry import CATALOGUE
from service.kit.errors import Invalid, NotFound
from service.kit.paging import Listing, Page, decode, encode
from service.measurements.rules import Place
from service.measurements.schemas import MeasurementView, ReadingView, StandingReading
from service.measurements.tables import MeasurementRow, ReadingRow
from service.recipients.queries import seen_recipient
from service.recipients.scope import visible
from service.recipients.tables import RecipientRow


@usecase(May.SEE_CASES)
def measurements(work: Work, case_number: str, wanted: Listing) -> Page[MeasurementView]:
    """Sessions of a case with their readings, newest first."""
    seen = seen_recipient(work, case_number)
    work.read.add(seen.id)
    newest_first = (MeasurementRow.taken_on.desc(), MeasurementRow.id.desc())
    statement = sa.select(MeasurementRow.__table__).where(MeasurementRow.recipient_id == seen.id)
    if wanted.cursor is not None:
        statement = statement.where(sa.tuple_(MeasurementRow.taken_on, MeasurementRow.id) < _ended(wanted.cursor))
    rows = work.session.execute(statement.order_by(*newest_first).limit(wanted.limit + 1)).mappings().all()
    shown = rows[: wanted.limit]
    more = encode((shown[-1]["taken_on"].isoformat(), shown[-1]["id"])) if len(rows) > len(shown) else None
    return Page(items=_with_readings(work, shown), next=more)


@usecase(May.SEE_CASES)
def measurement(work: Work, case_number: str, measurement_id: int) -> MeasurementView:
    """One session of a case; raises NotFound when the case has no such session."""
    return _one_session(work, case_number, MeasurementRow.id == measurement_id)


@usecase(May.RECORD_MEASUREMENTS)
def measurement_of(work: Work, case_number: str, reading_id: int) -> MeasurementView:
    """The session of a reading about to be corrected; raises NotFound when the case has no such reading."""
    of_reading = sa.select(ReadingRow.measurement_id).where(ReadingRow.id == reading_id)
    return _one_session(work, case_number, MeasurementRow.id.in_(of_reading))


@usecase(May.SEE_CASES)
def readings_for(work: Work, recipient_ids: Iterable[int]) -> dict[int, list[StandingReading]]:
    """The readings that count of several recipients at once, oldest first; struck ones are left out."""
    wanted = list(recipient_ids)
    rows = work.session.execute(
        sa.select(
            MeasurementRow.recipient_id.label("recipient"),
            MeasurementRow.taken_on.label("on"),
            MeasurementRow.method,
            *(getattr(ReadingRow, name) for name in ("id", "dimension", "side", "level_mm", "landmark", "value")),
            ReadingRow.doubts,
        )
        .join(MeasurementRow, MeasurementRow.id == ReadingRow.measurement_id)
        .join(RecipientRow, RecipientRow.id == MeasurementRow.recipient_id)
        .where(RecipientRow.id.in_(wanted), ReadingRow.struck_at.is_(None), visible(work.actor, work.today))
        .order_by(MeasurementRow.taken_on, ReadingRow.id)
    )
    found: dict[int, list[StandingReading]] = {recipient_id: [] for recipient_id in wanted}
    for row in rows:
        reading = StandingReading.model_validate({**row._mapping, "doubted": bool(row.doubts)})
        found[reading.recipient].append(reading)
    return found


@usecase(May.RECORD_MEASUREMENTS)
def last_values(work: Work, recipient_id: int) -> dict[Place, StandingReading]:
    """The newest reading of every place, to stand beside a form's fields; opening it is recorded."""
    work.read.add(recipient_id)
    return {reading.place: reading for reading in readings_for(work, [recipient_id])[recipient_id]}


def _ended(cursor: str) -> sa.ColumnElement[Any]:
    """Where the last page ended, its day too: a session may have been put on another day since."""
    day, last = decode(cursor, (str, int))
    try:
        return sa.tuple_(sa.literal(date.fromisoformat(day)), sa.literal(last))
    except ValueError:
        raise Invalid.at(
            "cursor", "This cursor is not valid. Start again from the first page, without a cursor."
        ) from None


def _one_session(work: Work, case_number: str, which: sa.ColumnElement[bool]) -> MeasurementView:
    seen = seen_recipient(work, case_number)
    statement = sa.select(MeasurementRow.__table__).where(which, MeasurementRow.recipient_id == seen.id)
    row = work.session.execute(statement).mappings().one_or_none()
    if row is None:
        raise NotFound("There is no such measurement in this case.")
    work.read.add(seen.id)
    return _with_readings(work, [row])[0]


def _with_readings(work: Work, sessions: Sequence[sa.RowMapping]) -> list[MeasurementView]:
    rows = work.session.execute(
        sa.select(ReadingRow.__table__)
        .where(ReadingRow.measurement_id.in_([session["id"] for session in sessions]))
        .order_by(ReadingRow.id)
    ).mappings()
    of_session: dict[int, list[ReadingView]] = {session["id"]: [] for session in sessions}
    for row in rows:
        of_session[row["measurement_id"]].append(_reading(row))
    return [MeasurementView.model_validate({**session, "readings": of_session[session["id"]]}) for session in sessions]


def _reading(row: sa.RowMapping) -> ReadingView:
    unit = CATALOGUE[row["dimension"]].unit
    struck: dict[str, Any] | None = None
    if row["struck_at"] is not None:
        struck = {"at": row["struck_at"], "by": row["struck_by"], "why": row["struck_why"]}
    return ReadingView.model_validate(
        {
            **row,
            f"value_{unit}": row["value"],
            f"spread_{unit}": row["spread"],
            "struck": struck,
            "corrects": row["corrects_id"],
        }
    )
