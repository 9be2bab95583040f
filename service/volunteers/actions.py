"""Recording volunteers and what they have. Each act writes its audit entry in the same transaction."""

from __future__ import annotations

from typing import Any, TypeVar

import sqlalchemy as sa
from sqlalchemy.exc import IntegrityError

from service.access.permissions import May, Role
from service.access.usecase import usecase
from service.access.work import Work
from service.accounts.queries import site_choice
from service.accounts.tables import AccountRoleRow, AccountRow, AccountSiteRow, TownRow
from service.audit.actions import note
from service.kit.clock import age_on
from service.kit.db import Base
from service.kit.errors import Conflict, FieldError, Forbidden, Invalid, NotFound
from service.lots.queries import lot
from service.recipients.queries import seen_recipient
from service.volunteers.queries import visits, volunteer
from service.volunteers.rules import PrinterState, absence_problem, review_due, vetting_problem, visit_problem
from service.volunteers.schemas import (
    AddAbsence,
    AddPrinter,
    AddStock,
    AddTraining,
    AddVetting,
    AddVisit,
    AddVolunteer,
    ChangePrinter,
    ChangeStock,
    ChangeVolunteer,
    VisitView,
    VolunteerView,
)
from service.volunteers.tables import (
    AbsenceRow,
    PrinterRow,
    StockRow,
    TrainingRow,
    VettingRow,
    VisitRow,
    VolunteerRow,
)

T = TypeVar("T", PrinterRow, StockRow, AbsenceRow, VettingRow)

_COORDINATORS_ONLY = {"account", "note", "left_on"}
_MAY_BE_NULL = {"account", "town", "left_on"}


@usecase(May.KEEP_VOLUNTEERS)
def may_add_volunteers(_work: Work) -> None:
    """Whether to show the form for a volunteer at all; refuses as recording would."""


@usecase(May.KEEP_VOLUNTEERS)
def add_volunteer(work: Work, command: AddVolunteer) -> VolunteerView:
    """Record somebody who makes or fits.

    Raises Conflict when the account is somebody's already; Invalid for an account or a town that is not there.
    """
    site_id = site_choice(work, command.site)
    _check_account(work, command.account, site_id)
    _check_town(work, command.town)
    given = command.model_dump(exclude={"site", "account", "town", "since"})
    row = VolunteerRow(
        **given,
        site_id=site_id,
        account_id=command.account,
        town_id=command.town,
        since=command.since or work.today,
        looked_at=work.now,
    )
    _written(work, row)
    note(work, "recorded", "volunteer", subject_id=row.id)
    return volunteer(work, row.id)


@usecase(May.KEEP_OWN_VOLUNTEERING)
def change_volunteer(work: Work, volunteer_id: int, command: ChangeVolunteer) -> VolunteerView:
    """Put right what is known of a volunteer; themselves all but their account, the note and that they left."""
    row = _kept(work, volunteer_id)
    given = command.model_dump(exclude_unset=True)
    given = {name: value for name, value in given.items() if value is not None or name in _MAY_BE_NULL}
    if _COORDINATORS_ONLY & set(given) and not work.actor.can(May.KEEP_VOLUNTEERS):
        raise Forbidden("Your coordinator keeps this: ask them to change it. Nothing was changed.")
    if "account" in given and given["account"] != row.account_id:
        _check_account(work, given["account"], row.site_id)
    _check_town(work, given.get("town"))
    renamed = {"account": "account_id", "town": "town_id"}
    _change(work, row, "volunteer", {renamed.get(name, name): value for name, value in given.items()})
    row.looked_at = work.now
    _written(work, row)
    return volunteer(work, volunteer_id)


@usecase(May.KEEP_OWN_VOLUNTEERING)
def still_right(work: Work, volunteer_id: int) -> VolunteerView:
    """Record that a volunteer's page was looked at today and is right as it is."""
    _kept(work, volunteer_id).looked_at = work.now
    work.session.flush()  # the view reads what was just written
    return volunteer(work, volunteer_id)


@usecase(May.KEEP_OWN_VOLUNTEERING)
def add_printer(work: Work, volunteer_id: int, command: AddPrinter) -> VolunteerView:
    """Record a printer of a volunteer's."""
    given = {**command.model_dump(), "state": PrinterState.WORKING}
    return _added(work, volunteer_id, "printer", PrinterRow(volunteer_id=volunteer_id, **given))


@usecase(May.KEEP_OWN_VOLUNTEERING)
def change_printer(work: Work, volunteer_id: int, printer_id: int, command: ChangePrinter) -> VolunteerView:
    """Put right what is known of a printer, or say that it is out of order or gone."""
    keeper = _kept(work, volunteer_id)
    given = {name: value for name, value in command.model_dump(exclude_unset=True).items() if value is not None}
    _change(work, _its(work, PrinterRow, volunteer_id, printer_id), "printer", given)
    return _looked_at(work, keeper)


@usecase(May.KEEP_OWN_VOLUNTEERING)
def add_stock(work: Work, volunteer_id: int, command: AddStock) -> VolunteerView:
    """Record material on hand; raises Invalid without a material, and for a lot that nothing may be made from."""
    material, colour = command.material, command.colour
    if command.lot is not None:
        found = lot(work, command.lot)
        if found.why_not is not None:
            raise Invalid.at("lot", found.why_not)
        material, colour = found.material or found.what, found.colour
    if not material:
        raise Invalid.at("material", "Say which material it is, such as PETG, or give the number of its lot.")
    row = StockRow(volunteer_id=volunteer_id, lot_id=command.lot, material=material, colour=colour, grams=command.grams)
    return _added(work, volunteer_id, "stock", row)


@usecase(May.KEEP_OWN_VOLUNTEERING)
def change_stock(work: Work, volunteer_id: int, stock_id: int, command: ChangeStock) -> VolunteerView:
    """Say how much of a material is left, or that it is gone."""
    keeper = _kept(work, volunteer_id)
    given: dict[str, Any] = {"gone_on": work.today} if command.gone else command.model_dump(exclude={"gone"})
    _change(work, _its(work, StockRow, volunteer_id, stock_id), "stock", given)
    return _looked_at(work, keeper)


@usecase(May.KEEP_OWN_VOLUNTEERING)
def add_absence(work: Work, volunteer_id: int, command: AddAbsence) -> VolunteerView:
    """Record days away; raises Invalid for days that are over or the wrong way round."""
    _refuse(absence_problem(command.since, command.until, work.today))
    return _added(work, volunteer_id, "absence", AbsenceRow(volunteer_id=volunteer_id, **command.model_dump()))


@usecase(May.KEEP_OWN_VOLUNTEERING)
def end_absence(work: Work, volunteer_id: int, absence_id: int) -> VolunteerView:
    """Take days away back: they are there after all."""
    keeper = _kept(work, volunteer_id)
    work.session.delete(_its(work, AbsenceRow, volunteer_id, absence_id))
    note(work, "took back", "absence", subject_id=absence_id)
    return _looked_at(work, keeper)


@usecase(May.KEEP_VOLUNTEERS)
def add_training(work: Work, volunteer_id: int, command: AddTraining) -> VolunteerView:
    """Record what somebody was trained for; raises Invalid for a day still to come."""
    if command.trained_on > work.today:
        raise Invalid.at("trained_on", "This day is still to come. Record the training once it was given.")
    row = TrainingRow(volunteer_id=volunteer_id, recorded_by=work.actor.name, **command.model_dump())
    return _added(work, volunteer_id, "training", row)


@usecase(May.KEEP_VETTING)
def add_vetting(work: Work, volunteer_id: int, command: AddVetting) -> VolunteerView:
    """Record a safeguarding check; its review is due by policy after three years unless another day is given."""
    due = command.review_due_on or review_due(command.checked_on)
    _refuse(vetting_problem(command.checked_on, due, work.today))
    given = {**command.model_dump(), "review_due_on": due}
    row = VettingRow(volunteer_id=volunteer_id, recorded_by=work.actor.name, recorded_at=work.now, **given)
    return _added(work, volunteer_id, "vetting", row)


@usecase(May.KEEP_VETTING)
def end_vetting(work: Work, volunteer_id: int, vetting_id: int) -> VolunteerView:
    """Record that a vetting counts no more from today."""
    volunteer(work, volunteer_id)
    _change(work, _its(work, VettingRow, volunteer_id, vetting_id), "vetting", {"ended_on": work.today})
    work.session.flush()  # the view reads what was just written
    return volunteer(work, volunteer_id)


@usecase(May.KEEP_OWN_VOLUNTEERING)
def add_visit(work: Work, volunteer_id: int, command: AddVisit) -> list[VisitView]:
    """Record a visit that was made; raises Invalid for a child visited without a guardian present."""
    _kept(work, volunteer_id)
    whom = seen_recipient(work, command.case_number)
    on = command.visited_on or work.today
    _refuse(visit_problem(on, work.today, age_on(whom.birth_date, on), command.guardian_present))
    row = VisitRow(
        volunteer_id=volunteer_id,
        recipient_id=whom.id,
        visited_on=on,
        guardian_present=command.guardian_present,
        what_for=command.what_for,
        recorded_at=work.now,
        recorded_by=work.actor.name,
    )
    work.session.add(row)
    work.session.flush()
    note(work, "recorded", "visit", subject_id=row.id, recipient_id=whom.id)
    return visits(work, volunteer_id)


def _kept(work: Work, volunteer_id: int) -> VolunteerRow:
    """The row of a volunteer whom the actor may keep: themselves, or one of a coordinator's sites."""
    seen = volunteer(work, volunteer_id)  # raises NotFound for what is not at the actor's sites
    if not seen.is_own and not work.actor.can(May.KEEP_VOLUNTEERS):
        raise Forbidden("Only this volunteer and their coordinators can change it. Nothing was changed.")
    return work.session.get_one(VolunteerRow, volunteer_id, with_for_update=True)


def _its(work: Work, table: type[T], volunteer_id: int, row_id: int) -> T:
    row = work.session.get(table, row_id)
    if row is None or row.volunteer_id != volunteer_id:
        raise NotFound("This volunteer has no such thing recorded.")
    return row


def _added(work: Work, volunteer_id: int, what: str, row: Any) -> VolunteerView:
    if isinstance(row, TrainingRow | VettingRow):
        volunteer(work, volunteer_id)  # whoever may record these may do so for anybody of their sites
    else:
        _kept(work, volunteer_id).looked_at = work.now
    work.session.add(row)
    work.session.flush()
    note(work, "recorded", what, subject_id=row.id, changes={"volunteer": [None, volunteer_id]})
    return volunteer(work, volunteer_id)


def _looked_at(work: Work, row: VolunteerRow) -> VolunteerView:
    row.looked_at = work.now
    work.session.flush()  # the view reads what was just written
    return volunteer(work, row.id)


def _change(work: Work, row: Base, what: str, given: dict[str, Any]) -> None:
    changes = {name: [_plain(getattr(row, name)), _plain(value)] for name, value in given.items()}
    changes = {name: both for name, both in changes.items() if both[0] != both[1]}
    for name in changes:
        setattr(row, name, given[name])
    if changes:
        note(work, "changed", what, subject_id=getattr(row, "id"), changes=changes)  # noqa: B009 every row here has one


def _written(work: Work, row: VolunteerRow) -> None:
    try:
        with work.session.begin_nested():
            work.session.add(row)
    except IntegrityError as error:  # somebody else was recorded with this account meanwhile
        raise _taken() from error


def _check_account(work: Work, account_id: int | None, site_id: int) -> None:
    if account_id is None:
        return
    fits = sa.select(AccountRow.id).where(
        AccountRow.id == account_id,
        AccountRow.closed_at.is_(None),
        sa.exists().where(AccountRoleRow.account_id == AccountRow.id, AccountRoleRow.role == Role.VOLUNTEER),
        sa.exists().where(AccountSiteRow.account_id == AccountRow.id, AccountSiteRow.site_id == site_id),
    )
    if work.session.scalar(fits) is None:
        raise Invalid.at("account", "Choose an account of a volunteer at this site, or leave it open.")
    if work.session.scalar(sa.select(VolunteerRow.id).where(VolunteerRow.account_id == account_id)) is not None:
        raise _taken()


def _check_town(work: Work, town_id: int | None) -> None:
    if town_id is not None and work.session.get(TownRow, town_id) is None:
        raise Invalid.at("town", "Choose one of the towns that are recorded, or record it first.")


def _refuse(problem: tuple[str, str] | None) -> None:
    if problem is not None:
        raise Invalid.at(*problem)


def _taken() -> Conflict:
    said = "This account is that of another volunteer already. Choose another, or leave it open."
    return Conflict(said, fields=(FieldError("account", said),))


def _plain(value: Any) -> Any:
    return value.isoformat() if hasattr(value, "isoformat") else value
