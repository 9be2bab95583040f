"""Reading stored forecasts, and what new ones are made from."""

from __future__ import annotations

from datetime import date
from typing import Any

import sqlalchemy as sa

from service.access.permissions import May
from service.access.usecase import usecase
from service.access.work import Work
from service.accounts.tables import SiteRow
from service.anthropometry.dimensions import CATALOGUE
from service.devices.queries import IN_PLACE, worn_sockets
from service.devices.rules import EndReason
from service.devices.schemas import WornSocket
from service.devices.tables import DeviceRow, SocketRow
from service.growth.record import HORIZONS, Judged
from service.growth.recorded import Entry, ForecastRecord, told
from service.growth.rules import grows_as, state_of
from service.growth.schemas import ForecastCase
from service.growth.stored import SocketCase, StoredForecast
from service.growth.tables import ForecastRow
from service.kit.db import plus_days
from service.kit.jobs import JobRow, JobState
from service.measurements.queries import readings_for
from service.recipients.followups import FORECAST_REFRESH
from service.recipients.queries import seen_recipient
from service.recipients.rules import CaseState, Level, Side
from service.recipients.scope import visible
from service.recipients.tables import LimbRow, RecipientRow

JUDGED_BY = (
    EndReason.OUTGROWN,
    EndReason.BROKEN,
    EndReason.WORN_OUT,
    EndReason.PREFERENCE,
    EndReason.NOTICE,
    EndReason.MOVED,
)
"""Ends of sockets that were worn, so that their forecasts can be judged."""


@usecase(May.SEE_CASES)
def forecasts(work: Work, case_number: str) -> list[StoredForecast]:
    """The newest forecast of each socket in place of a recipient's devices in use, saying whether it is current."""
    seen = seen_recipient(work, case_number)
    work.read.add(seen.id)
    worn = worn_sockets(work, [seen.id])
    statement = sa.select(ForecastRow.__table__).where(
        ForecastRow.socket_id.in_([each.socket for each in worn]), ForecastRow.is_newest
    )
    newest = {row["socket_id"]: row for row in work.session.execute(statement).mappings()}
    jobs = set(
        work.session.scalars(
            sa.select(JobRow.state).where(
                JobRow.kind == FORECAST_REFRESH, JobRow.subject_id == seen.id, JobRow.state != JobState.DONE
            )
        )
    )
    found = []
    for each in worn:
        row = newest.get(each.socket)
        state = state_of(
            as_of=row["as_of"] if row else None,
            today=work.today,
            closed=seen.state is CaseState.CLOSED,
            waiting=bool(jobs - {JobState.FAILED}),
            failed=JobState.FAILED in jobs,
        )
        of_socket = {"device": each.device, "socket": each.socket, "purpose": each.purpose, "side": each.side}
        found.append(
            StoredForecast.model_validate(
                {**(row["answer"] if row else {}), **(row or {}), **of_socket, "state": state}
            )
        )
    return found


@usecase(May.SEE_CASES)
def socket_cases(work: Work, recipient_id: int) -> list[SocketCase]:
    """What is known today of each socket in place of a recipient's devices in use, as the model takes it."""
    person = work.session.execute(
        sa.select(
            RecipientRow.case_number, RecipientRow.birth_date, RecipientRow.sex, SiteRow.lead_days, SiteRow.tight_risk
        )
        .join(SiteRow, SiteRow.id == RecipientRow.site_id)
        .where(RecipientRow.id == recipient_id, visible(work.actor, work.today))
    ).one()
    limbs = sa.select(LimbRow.side, LimbRow.level).where(LimbRow.recipient_id == recipient_id)
    ends: dict[Side | None, Level] = {limb.side: limb.level for limb in work.session.execute(limbs)}
    readings = _readings(work, recipient_id, person.birth_date, ends)
    found = []
    for worn in worn_sockets(work, [recipient_id]):
        case = ForecastCase.model_validate(
            {
                "case_id": f"{person.case_number}/{worn.socket}",
                "birth_date": person.birth_date,
                "sex": person.sex.value,
                "as_of": work.today,
                "readings": readings,
                "device": {"fitted_on": worn.fitted_on, "limits": _limits(worn, ends)},
                "sock_reports": _sock_reports(worn, work.today),
            }
        )
        found.append(
            SocketCase(
                device=worn.device,
                socket=worn.socket,
                lead_days=person.lead_days,
                tight_risk=person.tight_risk,
                limited_by=[limit.dimension for limit in worn.limits],
                case=case,
            )
        )
    return found


@usecase(May.SEE_FORECAST_RECORD)
def forecast_record(work: Work) -> ForecastRecord:
    """How the forecasts of sockets that have come off have done, over the actor's sites; no case is told apart."""
    kinds = [(days, replayed) for days in HORIZONS for replayed in (False, True)]
    statement = sa.union_all(*(_in_force(work, days, replayed=replayed) for days, replayed in kinds))
    rows = work.session.execute(statement.execution_options(yield_per=1000))
    return told(
        Entry(
            row.model,
            row.replayed,
            row.horizon_days,
            Judged(row.as_of, row.p10, row.p50, row.p90, row.ended_on, row.end_reason == EndReason.OUTGROWN),
        )
        for row in rows
    )


def _in_force(work: Work, days: int, *, replayed: bool) -> sa.Select[*tuple[Any, ...]]:
    """For each socket that came off, the newest forecast so many days before: made at the time, or replayed."""
    # A forecast is made for the day it is made on; one made later than that was worked out with hindsight.
    hindsight = ForecastRow.computed_at >= plus_days(ForecastRow.as_of, 2)
    newest = (
        sa.select(ForecastRow.id)
        .where(
            ForecastRow.socket_id == SocketRow.id,
            ForecastRow.as_of <= plus_days(SocketRow.ended_on, -days),
            hindsight if replayed else ~hindsight,
        )
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
        .where(SocketRow.end_reason.in_(JUDGED_BY), RecipientRow.site_id.in_(work.actor.sites))
    )


@usecase(May.REFRESH_FORECASTS)
def wearers(work: Work) -> list[int]:
    """Ids of recipients whose case is not closed and who have a socket in place of a device in use."""
    statement = (
        sa.select(DeviceRow.recipient_id)
        .distinct()
        .join(SocketRow, SocketRow.device_id == DeviceRow.id)
        .join(RecipientRow, RecipientRow.id == DeviceRow.recipient_id)
        .where(*IN_PLACE, RecipientRow.state != CaseState.CLOSED)
    )
    return list(work.session.scalars(statement))


def _readings(work: Work, recipient_id: int, birth_date: date, ends: dict[Side | None, Level]) -> list[dict[str, Any]]:
    return [
        {
            "on": reading.on,
            "method": reading.method.value,
            "dimension": grows_as(reading.dimension, ends.get(reading.side)).value,
            "side": reading.side and reading.side.value,
            "level_mm": reading.level_mm,
            f"value_{CATALOGUE[reading.dimension].unit}": reading.value,
        }
        for reading in readings_for(work, [recipient_id])[recipient_id]
        # A birth date corrected later must not stop the forecast over a reading that is now before it.
        if birth_date <= reading.on <= work.today
    ]


def _limits(worn: WornSocket, ends: dict[Side | None, Level]) -> list[dict[str, Any]]:
    return [
        {
            "dimension": grows_as(limit.dimension, ends.get(limit.side)).value,
            "side": limit.side and limit.side.value,
            "level_mm": limit.level_mm,
            "tight_at_mm": limit.tight_at_mm,
        }
        for limit in worn.limits
    ]


def _sock_reports(worn: WornSocket, today: date) -> list[dict[str, Any]]:
    reports = [{"on": each.on, "plies": each.plies, "fit": each.fit.value} for each in worn.reports if each.on <= today]
    if worn.socks_at_fitting:  # chosen by whoever fitted the socket, so that it was snug
        reports.insert(0, {"on": worn.fitted_on, "plies": worn.socks_at_fitting, "fit": "snug"})
    return reports
