"""Reading volunteers, narrowed to the actor's sites; what is private only for themselves and their coordinators."""

from __future__ import annotations

from typing import Any

import sqlalchemy as sa
from sqlalchemy.orm import aliased

from service.access.permissions import May, Role
from service.access.usecase import usecase
from service.access.work import Work
from service.accounts.queries import site_choice
from service.accounts.rules import great_circle_km
from service.accounts.tables import SiteRow, TownRow
from service.kit.errors import NotFound
from service.kit.paging import Page, after, decode, encode
from service.recipients.scope import visible
from service.recipients.tables import RecipientRow
from service.volunteers.rules import PrinterState, about_km, vetting_said
from service.volunteers.schemas import (
    VettingView,
    VisitView,
    VolunteerFilter,
    VolunteerLine,
    VolunteerView,
)
from service.volunteers.tables import VisitRow, VolunteerRow
from service.volunteers.things import Things, away_until, things

_SITE_TOWN = aliased(TownRow)


@usecase(May.SEE_VOLUNTEERS)
def volunteers(work: Work, wanted: VolunteerFilter) -> Page[VolunteerLine]:
    """Volunteers of the actor's sites by name; a fixed number of statements, however many."""
    order = (VolunteerRow.name, VolunteerRow.id)
    gone = VolunteerRow.left_on.is_not(None)
    conditions: list[sa.ColumnElement[bool]] = [gone if wanted.left else ~gone]
    if wanted.q:
        conditions.append(sa.func.lower(VolunteerRow.name).contains(wanted.q.lower(), autoescape=True))
    if wanted.site:
        conditions.append(VolunteerRow.site_id == site_choice(work, wanted.site))
    if wanted.cursor is not None:
        conditions.append(after(order, decode(wanted.cursor, (str, int))))
    rows = work.session.execute(_lines(work).where(*conditions).order_by(*order).limit(wanted.limit + 1)).all()
    shown = rows[: wanted.limit]
    found = things(work, VolunteerRow.id.in_([row.id for row in shown]))
    items = [VolunteerLine.model_validate(_line(work, row, found[row.id])) for row in shown]
    return Page(items=items, next=encode((shown[-1].name, shown[-1].id)) if len(rows) > len(shown) else None)


@usecase(May.SEE_VOLUNTEERS)
def volunteer(work: Work, volunteer_id: int) -> VolunteerView:
    """One volunteer; raises NotFound for none, and for one of a site that is not the actor's."""
    row = work.session.execute(_lines(work).where(VolunteerRow.id == volunteer_id)).one_or_none()
    if row is None:
        raise NotFound("There is no volunteer with this number among those of your sites.")
    return _whole(work, row)


@usecase(May.KEEP_OWN_VOLUNTEERING)
def own_volunteering(work: Work) -> VolunteerView | None:
    """What the actor keeps of themselves; None for somebody whom nobody has recorded as a volunteer."""
    mine = VolunteerRow.account_id == work.actor.account_id
    row = work.session.execute(_lines(work).where(mine)).one_or_none() if work.actor.account_id else None
    return None if row is None else _whole(work, row)


@usecase(May.SEE_VOLUNTEERS)
def visits(work: Work, volunteer_id: int) -> list[VisitView]:
    """The visits of a volunteer to cases the actor may see, the latest first; raises NotFound as `volunteer` does."""
    volunteer(work, volunteer_id)
    own = (RecipientRow.case_number, RecipientRow.given_name)
    rows = work.session.execute(
        sa.select(VisitRow.__table__, *own)
        .join(RecipientRow, RecipientRow.id == VisitRow.recipient_id)
        .where(VisitRow.volunteer_id == volunteer_id, visible(work.actor, work.today))
        .order_by(VisitRow.visited_on.desc(), VisitRow.id.desc())
        .limit(200)
    )
    return [VisitView.model_validate(row._mapping) for row in rows]


def _lines(work: Work) -> sa.Select[Any]:
    places = (
        *(TownRow.name.label("town_name"), TownRow.latitude.label("north"), TownRow.longitude.label("east")),
        *(_SITE_TOWN.latitude.label("site_north"), _SITE_TOWN.longitude.label("site_east")),
        *(SiteRow.code.label("site"), SiteRow.name.label("site_name")),
    )
    return (
        sa.select(VolunteerRow.__table__, *places)
        .join(SiteRow, SiteRow.id == VolunteerRow.site_id)
        .outerjoin(TownRow, TownRow.id == VolunteerRow.town_id)
        .outerjoin(_SITE_TOWN, _SITE_TOWN.id == SiteRow.town_id)
        .where(sa.true() if Role.SYSTEM in work.actor.roles else VolunteerRow.site_id.in_(work.actor.sites))
    )


def _line(work: Work, row: Any, has: Things) -> dict[str, Any]:
    km = None
    if row.north is not None and row.site_north is not None:
        km = about_km(great_circle_km((row.site_north, row.site_east), (row.north, row.east)))
    working = [each for each in has.printers if each.state is PrinterState.WORKING]
    return {
        **row._mapping,
        "km_from_site": km,
        "skills": sorted({each.skill for each in has.trainings}),
        "printers": len(working),
        "materials": sorted({each for printer in working for each in printer.materials}),
        "away_until": away_until(has.absences, work),
        "vetted_until": has.vetted_until() if _keeps_vetting(work, row) else None,
    }


def _whole(work: Work, row: Any) -> VolunteerView:
    has = things(work, VolunteerRow.id == row.id)[row.id]
    is_own = work.actor.account_id is not None and row.account_id == work.actor.account_id
    private = is_own or work.actor.can(May.KEEP_VOLUNTEERS)
    said = {"account": row.account_id, "town": row.town_id}
    said |= {name: row._mapping[name] for name in ("email", "phone", "town_name", "travels_km", "note")}
    return VolunteerView.model_validate(
        {
            **_line(work, row, has),
            **{name: value if private else None for name, value in said.items()},
            "is_own": is_own,
            "printer_list": [each._mapping for each in has.printers if each.state is not PrinterState.GONE],
            "stock": [each._mapping for each in has.stock],
            "absences": [{**each._mapping, "note": each.note if private else ""} for each in has.absences],
            "trainings": [each._mapping for each in has.trainings],
            "vettings": [_vetting(work, each) for each in has.vettings] if _keeps_vetting(work, row) else None,
        }
    )


def _keeps_vetting(work: Work, row: Any) -> bool:
    own = work.actor.account_id is not None and row.account_id == work.actor.account_id
    return own or work.actor.can(May.KEEP_VETTING)


def _vetting(work: Work, row: Any) -> VettingView:
    words = vetting_said(row.kind, row.review_due_on, work.today)
    due = row.ended_on is None and row.review_due_on < work.today
    return VettingView.model_validate({**row._mapping, "due": due, "words": words})
