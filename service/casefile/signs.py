"""Signs that a socket is tight today which no forecast need weigh: somebody said so, or a reading is at a limit of it.

What was said stands until a later report that is loose or snug, a later reading of what limits the socket, or a new
socket; what was read stands until a later reading there that is smaller, a later report that is loose or snug, or a
new socket.
"""

from __future__ import annotations

from collections.abc import Collection
from datetime import date
from typing import Any

import sqlalchemy as sa
from sqlalchemy.orm import aliased

from service.access.work import Work
from service.anthropometry import CATALOGUE, SAME_LEVEL_MM
from service.casefile.schemas import Sign
from service.devices.rules import Fit
from service.devices.tables import DeviceRow, LimitRow, SocketRow, SockReportRow
from service.measurements.rules import Place
from service.measurements.tables import MeasurementRow, ReadingRow
from service.recipients.rules import Level
from service.recipients.tables import LimbRow


def tight_since(today: date) -> sa.ColumnElement[date]:
    """The day of a sign that the socket of a `SocketRow` in the statement around is tight, or NULL."""
    reported = _reported(today).where(SockReportRow.socket_id == SocketRow.id).correlate(SocketRow, DeviceRow)
    measured = _measured(today).where(LimitRow.socket_id == SocketRow.id).correlate(SocketRow, DeviceRow)
    return sa.func.coalesce(
        reported.with_only_columns(SockReportRow.worn_on).limit(1).scalar_subquery(),
        measured.with_only_columns(sa.func.max(MeasurementRow.taken_on)).scalar_subquery(),
        type_=sa.Date,
    )


def signs(work: Work, sockets: Collection[int]) -> dict[int, Sign]:
    """The sign of each of some sockets that has one: what was said before what was read, and the worst reading."""
    in_place = (SocketRow.id.in_(sockets), DeviceRow.id == SocketRow.device_id)
    found: dict[int, Sign] = {}
    excess = LimitRow.tight_at_mm - ReadingRow.value
    for row in work.session.execute(_measured(work.today).where(*in_place).order_by(excess)).mappings():
        place = Place(row["dimension"], row["side"], row["level_mm"], row["landmark"])
        found.setdefault(row["socket"], Sign.model_validate({**row, "place": place.words}))
    for row in work.session.execute(_reported(work.today).where(*in_place)).mappings():
        found[row["socket"]] = Sign.model_validate(dict(row))
    return found


def _reported(today: date) -> sa.Select[Any]:
    """Reports of a tight fit that nothing since has settled."""
    later = aliased(SockReportRow)
    newer = sa.tuple_(later.worn_on, later.id) > sa.tuple_(SockReportRow.worn_on, SockReportRow.id)
    measured_since = sa.or_(
        MeasurementRow.taken_on > SockReportRow.worn_on,
        sa.and_(
            MeasurementRow.taken_on == SockReportRow.worn_on, MeasurementRow.recorded_at > SockReportRow.recorded_at
        ),
    )
    return sa.select(
        SocketRow.id.label("socket"), SockReportRow.worn_on.label("on"), SockReportRow.plies, SockReportRow.note
    ).where(
        SockReportRow.socket_id == SocketRow.id,
        SockReportRow.fit == Fit.TIGHT,
        *_counts(SockReportRow, today),
        ~sa.exists()
        .where(later.socket_id == SockReportRow.socket_id, newer, *_counts(later, today))
        .correlate(SockReportRow),
        ~sa.exists()
        .where(LimitRow.socket_id == SocketRow.id, *_of_limit(MeasurementRow, ReadingRow), measured_since)
        .correlate(SocketRow, DeviceRow, SockReportRow),
    )


def _measured(today: date) -> sa.Select[Any]:
    """The newest readings of limits since the socket was fitted that are at the limit or over it."""
    session, reading = aliased(MeasurementRow), aliased(ReadingRow)
    newer = sa.tuple_(session.taken_on, reading.id) > sa.tuple_(MeasurementRow.taken_on, ReadingRow.id)
    return sa.select(
        SocketRow.id.label("socket"),
        MeasurementRow.taken_on.label("on"),
        ReadingRow.value.label("size_mm"),
        LimitRow.tight_at_mm,
        LimitRow.dimension,
        _side().label("side"),
        LimitRow.level_mm,
        ReadingRow.landmark,
    ).where(
        LimitRow.socket_id == SocketRow.id,
        *_of_limit(MeasurementRow, ReadingRow),
        MeasurementRow.taken_on >= SocketRow.fitted_on,
        MeasurementRow.taken_on <= today,
        ReadingRow.value >= LimitRow.tight_at_mm,
        ~sa.exists()
        .where(*_of_limit(session, reading), session.taken_on <= today, newer)
        .correlate(DeviceRow, LimitRow, MeasurementRow, ReadingRow),
        ~sa.exists()
        .where(
            SockReportRow.socket_id == SocketRow.id,
            SockReportRow.worn_on > MeasurementRow.taken_on,
            SockReportRow.fit != Fit.TIGHT,
            *_counts(SockReportRow, today),
        )
        .correlate(SocketRow, MeasurementRow),
    )


def _counts(report: Any, today: date) -> tuple[sa.ColumnElement[bool], ...]:
    return report.struck_at.is_(None), report.worn_on <= today


def _of_limit(session: Any, reading: Any) -> tuple[sa.ColumnElement[bool], ...]:
    """A reading that counts, taken where a limit of the socket lies; beside what `Place.near` says of two places."""
    same_level = sa.or_(
        sa.and_(reading.level_mm.is_(None), LimitRow.level_mm.is_(None)),
        sa.func.abs(reading.level_mm - LimitRow.level_mm) <= SAME_LEVEL_MM,
    )
    return (
        session.recipient_id == DeviceRow.recipient_id,
        reading.measurement_id == session.id,
        reading.struck_at.is_(None),
        reading.dimension == LimitRow.dimension,
        reading.side == _side(),
        # Before a limb above the elbow was counted from the acromion, its readings and limits named no landmark: what
        # was at a limit then is so still.
        reading.landmark.in_(["", _usual_landmark()]),
        same_level,
    )


def _usual_landmark() -> sa.ColumnElement[str]:
    """What a reading keeps as its landmark where a limit of the socket lies; `Place.on_limb`, in SQL."""
    ends_above = (
        sa.exists()
        .where(
            LimbRow.recipient_id == DeviceRow.recipient_id,
            LimbRow.side == _side(),
            LimbRow.level.in_([level for level in Level if level.is_above_forearm]),
        )
        .correlate(DeviceRow, LimitRow)
    )
    moved = {dimension: facts.kept_landmark(above_elbow=True) for dimension, facts in CATALOGUE.items()}
    whens = [(LimitRow.dimension == dimension, landmark) for dimension, landmark in moved.items() if landmark]
    return sa.case((ends_above, sa.case(*whens, else_="")), else_="")


def _side() -> sa.ColumnElement[Any]:
    return sa.func.coalesce(LimitRow.side, DeviceRow.side, type_=LimitRow.side.type)
