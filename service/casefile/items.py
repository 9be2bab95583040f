"""Fills one page of the work list, with one statement per kind of fact however many items there are."""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Iterable, Sequence
from typing import Any, TypeAlias

import sqlalchemy as sa

from service.access.work import Work
from service.accounts.tables import SiteRow
from service.casefile.asked import asked_for
from service.casefile.rules import (
    Kind,
    review_age,
    why_measure,
    why_missing,
    why_read,
    why_reported,
    why_review,
    why_socket,
)
from service.casefile.schemas import Sign, WorkItem
from service.casefile.signs import signs
from service.casefile.worklist import COUNTED, KINDS, NO_DAY, SOCKETS, START_BY
from service.devices.tables import DeviceRow, SocketRow
from service.growth.leads import lead_days
from service.growth.rules import ForecastState, state_of, why_no_forecast
from service.growth.tables import ForecastRow
from service.kit.clock import age_on
from service.kit.jobs import JobState, unfinished
from service.measurements.tables import MeasurementRow
from service.recipients.followups import FORECAST_REFRESH
from service.recipients.rules import Responsibility, birthday, still_needed
from service.recipients.tables import ConsentRow, ContactRow, LimbRow, RecipientRow, SuitabilityRow

_FORESEEN = ("due", "already", "within", "start_by", "measure_by", "measure_why", "limiting")

Details: TypeAlias = dict[int, dict[str, Any]]
"""Fields of work items, by the id of what they are about."""


def items(work: Work, keys: Sequence[Any]) -> list[WorkItem]:
    """The items of some keys (rows of `worklist.keys`), in the order of the keys."""
    subjects: defaultdict[Kind, list[int]] = defaultdict(list)
    for key in keys:
        subjects[KINDS[key.kind]].append(key.subject)
    people = _people(work, {key.recipient for key in keys})
    asked = asked_for(work, people.keys())
    details: dict[Kind, Details] = {
        Kind.SOCKET_DUE: _sockets(work, subjects[Kind.SOCKET_DUE]),
        Kind.MEASUREMENT_OVERDUE: _overdue(work, subjects[Kind.MEASUREMENT_OVERDUE], people),
        Kind.MISSING: _missing(work, subjects[Kind.MISSING], people),
        Kind.REVIEW: {each: _review(work, people[each]) for each in subjects[Kind.REVIEW]},
    }
    return [
        WorkItem.model_validate(
            {
                **people[key.recipient],
                **details[KINDS[key.kind]][key.subject],
                "asked": asked[key.recipient],
                "kind": KINDS[key.kind],
                "act_by": None if key.act_by == NO_DAY else key.act_by,
            }
        )
        for key in keys
    ]


def _people(work: Work, recipients: Iterable[int]) -> Details:
    columns = (
        RecipientRow.id,
        RecipientRow.case_number,
        RecipientRow.given_name,
        RecipientRow.family_name,
        RecipientRow.birth_date,
        RecipientRow.state.label("case_state"),
        SiteRow.code.label("site"),
        SiteRow.name.label("site_name"),
    )
    statement = sa.select(*columns).join(SiteRow, SiteRow.id == RecipientRow.site_id)
    return _by_id(work, statement.where(RecipientRow.id.in_(recipients)))


def _sockets(work: Work, sockets: list[int]) -> Details:
    if not sockets:
        return {}
    found = _by_id(
        work,
        SOCKETS.with_only_columns(
            SocketRow.id,
            SocketRow.id.label("socket"),
            DeviceRow.id.label("device"),
            DeviceRow.side,
            DeviceRow.purpose,
            RecipientRow.id.label("recipient"),
            SocketRow.fitted_on,
            RecipientRow.birth_date,
            ForecastRow.as_of,
            ForecastRow.already,
            ForecastRow.p10,
            ForecastRow.p50,
            ForecastRow.p90,
            START_BY.label("start_by"),
            ForecastRow.measure_by,
            ForecastRow.answer["start_why"].as_string().label("start_why"),
            ForecastRow.answer["measure_why"].as_string().label("measure_why"),
            ForecastRow.answer["within"].label("within"),
            ForecastRow.answer["limiting"].label("limiting"),
            lead_days().label("lead_days"),
        )
        .join(SiteRow, SiteRow.id == RecipientRow.site_id)
        .where(SocketRow.id.in_(sockets)),
    )
    jobs_of = unfinished(work.session, FORECAST_REFRESH, {each["recipient"] for each in found.values()})
    signed = signs(work, sockets)
    for socket, each in found.items():
        when = (each["p10"], each["p50"], each["p90"])
        each["due"] = None if each["as_of"] is None else dict(zip(("p10", "p50", "p90"), when, strict=True))
        jobs = jobs_of[each["recipient"]]
        each["state"] = state_of(
            as_of=each["as_of"],
            today=work.today,
            closed=False,
            waiting=bool(jobs - {JobState.FAILED}),
            failed=JobState.FAILED in jobs,
        )
        facts = {name: each[name] for name in ("state", "already", "start_why")}
        sign = each["sign"] = signed.get(socket)
        each["why"] = why_socket(**facts) if sign is None else _why_tight(sign)
        if (why_not := why_no_forecast(each["fitted_on"], each["birth_date"])) is not None:
            each |= {**dict.fromkeys(_FORESEEN), "state": ForecastState.CURRENT}
            each["why"] = why_not if sign is None else each["why"]
    return found


def _why_tight(sign: Sign) -> str:
    if sign.place is None or sign.size_mm is None or sign.tight_at_mm is None:
        return why_reported(sign.on)
    return why_read(sign.on, sign.place, sign.size_mm, sign.tight_at_mm)


def _overdue(work: Work, recipients: list[int], people: Details) -> Details:
    if not recipients:
        return {}
    statement = (
        sa.select(RecipientRow.id, sa.func.max(MeasurementRow.taken_on).label("last"))
        .outerjoin(MeasurementRow, sa.and_(*COUNTED))
        .where(RecipientRow.id.in_(recipients))
        .group_by(RecipientRow.id)
    )
    return {
        recipient: {"why": why_measure(last, people[recipient]["birth_date"], work.today)}
        for recipient, last in work.session.execute(statement)
    }


def _missing(work: Work, recipients: list[int], people: Details) -> Details:
    if not recipients:
        return {}
    guardian = (ContactRow.responsibility == Responsibility.YES, ContactRow.ended_on.is_(None))
    newest_note = (SuitabilityRow.noted_on.desc(), SuitabilityRow.id.desc())
    verdict = sa.select(SuitabilityRow.verdict).where(SuitabilityRow.recipient_id == RecipientRow.id)
    statement = sa.select(
        RecipientRow.id,
        RecipientRow.prescriber_name,
        RecipientRow.latex_allergy,
        _how_many(LimbRow).label("limbs"),
        _how_many(ContactRow, *guardian).label("guardians"),
        verdict.order_by(*newest_note).limit(1).scalar_subquery().label("suitability"),
    ).where(RecipientRow.id.in_(recipients))
    agreed = defaultdict(set)
    standing = sa.select(ConsentRow.recipient_id, ConsentRow.kind, ConsentRow.purpose).where(
        ConsentRow.recipient_id.in_(recipients), ConsentRow.withdrawn_on.is_(None)
    )
    for recipient, kind, purpose in work.session.execute(standing):
        agreed[recipient].add((kind, purpose))
    found: Details = {}
    for row in work.session.execute(statement):
        lacking = still_needed(
            age=age_on(people[row.id]["birth_date"], work.today),
            limbs=row.limbs,
            guardians=row.guardians,
            consents=frozenset(agreed[row.id]),
            suitability=row.suitability,
            prescriber=row.prescriber_name,
            latex_asked=row.latex_allergy is not None,
        )
        found[row.id] = {"missing": lacking, "why": why_missing(lacking)}
    return found


def _review(work: Work, person: dict[str, Any]) -> dict[str, Any]:
    age = review_age(person["birth_date"], work.today)
    return {"why": why_review(age, birthday(person["birth_date"], age), work.today)}


def _how_many(table: Any, *conditions: sa.ColumnElement[bool]) -> sa.ScalarSelect[int]:
    counted = sa.select(sa.func.count()).select_from(table).where(table.recipient_id == RecipientRow.id, *conditions)
    return counted.correlate(RecipientRow).scalar_subquery()


def _by_id(work: Work, statement: sa.Select[*tuple[Any, ...]]) -> Details:
    return {row["id"]: {**row} for row in work.session.execute(statement).mappings()}
