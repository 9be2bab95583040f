"""Reading stored forecasts, and what new ones are made from."""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Iterator
from datetime import timedelta
from typing import Any

import sqlalchemy as sa

from service.access.permissions import May
from service.access.usecase import usecase
from service.access.work import Work
from service.accounts.tables import SiteRow
from service.devices.queries import IN_PLACE, histories, sock_reports, worn_sockets
from service.devices.rules import EndReason
from service.devices.schemas import SockReportView, WornSocket
from service.devices.tables import DeviceRow, SocketRow
from service.growth.cases import Person, Socket, as_case, left_out, limb_case
from service.growth.judging import in_force
from service.growth.leads import OF_SITE, lead_of_site
from service.growth.record import HORIZONS, Judged
from service.growth.recorded import Entry, ForecastRecord, told
from service.growth.rules import ForecastState, state_of, why_no_forecast
from service.growth.stored import LimbCase, PastCase, SocketCase, StoredForecast
from service.growth.tables import ForecastRow, LearnedLeadRow
from service.kit.jobs import JobState, unfinished
from service.kit.paging import Listing
from service.measurements.queries import readings_for
from service.recipients.followups import FORECAST_REFRESH
from service.recipients.queries import seen_recipient
from service.recipients.rules import CaseState, Level, Side
from service.recipients.scope import visible
from service.recipients.tables import LimbRow, RecipientRow

BATCH = 50
"""Recipients whose past is gone through at a time, so that memory does not grow with the register."""


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
    jobs = unfinished(work.session, FORECAST_REFRESH, [seen.id])[seen.id]
    found = []
    for each in worn:
        of_socket = {"device": each.device, "socket": each.socket, "purpose": each.purpose, "side": each.side}
        if (why_not := why_no_forecast(each.fitted_on, seen.birth_date)) is not None:
            said = {"state": ForecastState.CURRENT, "explanation": why_not, "warnings": (why_not,)}
            found.append(StoredForecast.model_validate({**of_socket, **said}))
            continue
        row = newest.get(each.socket)
        state = state_of(
            as_of=row["as_of"] if row else None,
            today=work.today,
            closed=seen.state is CaseState.CLOSED,
            waiting=bool(jobs - {JobState.FAILED}),
            failed=JobState.FAILED in jobs,
        )
        found.append(
            StoredForecast.model_validate(
                {**(row["answer"] if row else {}), **(row or {}), **of_socket, "state": state}
            )
        )
    return found


@usecase(May.SEE_CASES)
def socket_cases(work: Work, recipient_id: int) -> list[SocketCase]:
    """What is known today of each socket in place of a recipient's devices in use, as the model takes it.

    A socket recorded as fitted before birth is left out.
    """
    of, site = _seen_person(work, recipient_id)
    readings = readings_for(work, [recipient_id])[recipient_id]
    return [
        SocketCase(
            device=worn.device,
            socket=worn.socket,
            lead=lead_of_site(site),
            tight_risk=site.tight_risk,
            left_out=left_out(of, readings, work.today),
            case=as_case(of, _worn(worn), readings, work.today),
        )
        for worn in worn_sockets(work, [recipient_id])
        if why_no_forecast(worn.fitted_on, of.birth_date) is None
    ]


@usecase(May.SEE_CASES)
def limb_without_socket(work: Work, recipient_id: int, side: Side) -> LimbCase:
    """What is known today of a limb by its readings alone, whatever is worn on it."""
    of, site = _seen_person(work, recipient_id)
    readings = readings_for(work, [recipient_id])[recipient_id]
    return LimbCase(
        lead_days=lead_of_site(site).days,
        left_out=left_out(of, readings, work.today),
        case=limb_case(of, side, readings, work.today),
    )


@usecase(May.SEE_FORECAST_RECORD)
def forecast_record(work: Work) -> ForecastRecord:
    """How the forecasts of sockets that have come off have done, over the actor's sites; no case is told apart."""
    kinds = [(days, replayed) for days in HORIZONS for replayed in (False, True)]
    here = RecipientRow.site_id.in_(work.actor.sites)
    statement = sa.union_all(*(in_force(days, replayed=replayed).where(here) for days, replayed in kinds))
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


@usecase(May.REFRESH_FORECASTS)
def wearers(work: Work, site_id: int | None = None) -> list[int]:
    """Ids of recipients (of a site, or all) with a case not closed and a socket in place of a device in use."""
    statement = (
        sa.select(DeviceRow.recipient_id)
        .distinct()
        .join(SocketRow, SocketRow.device_id == DeviceRow.id)
        .join(RecipientRow, RecipientRow.id == DeviceRow.recipient_id)
        .where(*IN_PLACE, RecipientRow.state != CaseState.CLOSED)
    )
    if site_id is not None:
        statement = statement.where(RecipientRow.site_id == site_id)
    return list(work.session.scalars(statement))


@usecase(May.REFRESH_FORECASTS)
def past_cases(work: Work, after: int) -> tuple[list[PastCase], int | None]:
    """Each socket that came off, as it stood at each horizon before, for the recipients after an id.

    Returns those of one batch of recipients, and the id to go on after, None at the end. What was measured by a day
    counts on that day, as it stands today, corrections included.
    """
    ids = sa.select(RecipientRow.id).where(RecipientRow.id > after).order_by(RecipientRow.id).limit(BATCH)
    batch = list(work.session.scalars(ids))
    found = [case for recipient_id in batch for case in _past(work, recipient_id)]
    return found, batch[-1] if len(batch) == BATCH else None


def _past(work: Work, recipient_id: int) -> Iterator[PastCase]:
    person = work.session.get_one(RecipientRow, recipient_id)
    sockets = [socket for device in histories(work, person.case_number) for socket in device.sockets]
    ended = [(each, each.ended_on) for each in sockets if each.ended_on and not each.mistaken]
    if not ended:
        return
    of = Person(person.case_number, person.birth_date, person.sex.value, _ends(work, recipient_id))
    readings = readings_for(work, [recipient_id])[recipient_id]
    reports = _reports(work, person.case_number)
    for each, ended_on in ended:
        socket = Socket(each.id, each.fitted_on, each.socks_at_fitting, each.limits, reports[each.id])
        for days in HORIZONS:
            as_of = ended_on - timedelta(days=days)
            if as_of >= each.fitted_on >= person.birth_date:
                yield PastCase(
                    recipient=recipient_id,
                    device=each.device,
                    socket=each.id,
                    horizon_days=days,
                    ended_on=ended_on,
                    outgrown=each.end_reason is EndReason.OUTGROWN,
                    left_out=left_out(of, readings, as_of),
                    case=as_case(of, socket, readings, as_of),
                )


def _reports(work: Work, case_number: str) -> defaultdict[int, list[SockReportView]]:
    """A recipient's sock reports that count, by socket, oldest first."""
    found: defaultdict[int, list[SockReportView]] = defaultdict(list)
    cursor, more = None, True
    while more:
        page = sock_reports(work, case_number, Listing(cursor=cursor, limit=200))
        for report in page.items:
            if report.struck is None:
                found[report.socket].append(report)
        cursor, more = page.next, page.next is not None
    for reports in found.values():
        reports.sort(key=lambda report: (report.on, report.id))
    return found


def _seen_person(work: Work, recipient_id: int) -> tuple[Person, sa.Row[*tuple[Any, ...]]]:
    """A recipient whom the actor may see, and of the site its `tight_risk` and what `lead_of_site` reads."""
    row = work.session.execute(
        sa.select(RecipientRow.case_number, RecipientRow.birth_date, RecipientRow.sex, SiteRow.tight_risk, *OF_SITE)
        .join(SiteRow, SiteRow.id == RecipientRow.site_id)
        .outerjoin(LearnedLeadRow, LearnedLeadRow.site_id == SiteRow.id)
        .where(RecipientRow.id == recipient_id, visible(work.actor, work.today))
    ).one()
    return Person(row.case_number, row.birth_date, row.sex.value, _ends(work, recipient_id)), row


def _ends(work: Work, recipient_id: int) -> dict[Side | None, Level]:
    limbs = sa.select(LimbRow.side, LimbRow.level).where(LimbRow.recipient_id == recipient_id)
    return {limb.side: limb.level for limb in work.session.execute(limbs)}


def _worn(worn: WornSocket) -> Socket:
    return Socket(worn.socket, worn.fitted_on, worn.socks_at_fitting, worn.limits, worn.reports)
