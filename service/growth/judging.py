"""SQL: the forecasts that are judged once their sockets have come off; whose are judged is for the caller to narrow."""

from __future__ import annotations

from typing import Any

import sqlalchemy as sa

from service.devices.queries import STANDING
from service.devices.tables import DeviceRow, SocketRow
from service.growth.tables import ForecastRow
from service.kit.db import plus_days
from service.recipients.tables import RecipientRow


def in_force(days: int, *, replayed: bool) -> sa.Select[*tuple[Any, ...]]:
    """For each socket that came off, the newest forecast so many days before: made at the time, or replayed."""
    # A forecast is made for the day it is made on; one made later than that was worked out with hindsight.
    hindsight = ForecastRow.computed_at >= plus_days(ForecastRow.as_of, 2)
    day = plus_days(SocketRow.ended_on, -days)
    # A replay is for that very day; to look for one among years of daily forecasts would read them all.
    counts = (ForecastRow.as_of == day, hindsight) if replayed else (ForecastRow.as_of <= day, ~hindsight)
    newest = (
        sa.select(ForecastRow.id)
        .where(ForecastRow.socket_id == SocketRow.id, *counts)
        .order_by(ForecastRow.as_of.desc(), ForecastRow.id.desc())
        .limit(1)
        .correlate(SocketRow)
        .scalar_subquery()
    )
    return (
        sa.select(
            ForecastRow.model,
            sa.literal(replayed).label("replayed"),
            sa.literal(days).label("horizon_days"),
            ForecastRow.as_of,
            ForecastRow.p10,
            ForecastRow.p50,
            ForecastRow.p90,
            SocketRow.ended_on,
            SocketRow.end_reason,
        )
        .join(DeviceRow, DeviceRow.id == SocketRow.device_id)
        .join(RecipientRow, RecipientRow.id == DeviceRow.recipient_id)
        .join(ForecastRow, ForecastRow.id == newest)
        .where(SocketRow.ended_on.is_not(None), STANDING)
    )
