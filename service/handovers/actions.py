"""Delivering, fitting, and what follows from each. Each act is one transaction with its audit entry."""

from __future__ import annotations

from datetime import date, timedelta

import sqlalchemy as sa

from service.access.permissions import May
from service.access.usecase import usecase
from service.access.work import Work
from service.audit.actions import note
from service.builds.keeping import items_of, move, own, own_to_make
from service.builds.rules import BuildState
from service.builds.tables import BuildRow
from service.gate.checklists import GAPING, MOVEMENT, ON_AND_OFF, SKIN, CheckKind, Result, due_days
from service.gate.keeping import case_number_of, require
from service.gate.schemas import AddFinding, SignCheck
from service.gate.signing import failed_words, need_signs, write_check
from service.handovers.finding import coming_off, going_over, in_place
from service.handovers.placing import Fitted, device_for, put_in_place, take_over
from service.handovers.queries import hand_over
from service.handovers.rules import counts_from, skin_problem
from service.handovers.schemas import DeliverBuild, FitBuild, HandOverView
from service.handovers.tables import DeliveryRow, FittingRow, FollowUpRow
from service.kit.errors import Invalid
from service.notifications.deciders import tell_deciders
from service.notifications.families import FamilyMessage
from service.requests.keeping import settle
from service.requests.rules import UNSETTLED, RequestState
from service.requests.tables import RequestRow
from service.safety.actions import report_skin
from service.safety.rules import SkinLimits
from service.safety.schemas import ReportSkin


@usecase(May.HAND_OVER)
def deliver(work: Work, build_id: int, command: DeliverBuild) -> HandOverView:
    """Record that a build was given to somebody; said twice, it is recorded once.

    Raises Blocked with everything that stands in the way, Invalid for a day that cannot be.
    """
    row = own_to_make(work, build_id)
    if row.state is BuildState.DELIVERED and _delivery(work, row) is not None:
        return hand_over(work, build_id)
    require(work, row, BuildState.DELIVERED)
    on = command.on or work.today
    _check_day(work, on, row.opened_at.date(), "on")
    work.session.add(
        DeliveryRow(
            build_id=row.id,
            round=row.round,
            on=on,
            to=command.to,
            by_post=command.by_post,
            logged_at=work.now,
            logged_by=work.actor.name,
        )
    )
    move(work, row, BuildState.DELIVERED)
    return hand_over(work, build_id)


@usecase(May.HAND_OVER)
def put_on(work: Work, build_id: int, skin: SkinLimits) -> HandOverView:
    """It is put on now: the skin is looked at some minutes from here. Said twice, the first moment counts."""
    row = own(work, build_id)
    require(work, row, BuildState.FITTED)
    if _fitting(work, row) is None:
        look_at = work.now + timedelta(minutes=skin.fades_minutes)
        begun = FittingRow(build_id=row.id, round=row.round, put_on_at=work.now, look_at=look_at)
        begun.begun_by = work.actor.name
        work.session.add(begun)
        note(work, "put on", "build", subject_id=row.id, recipient_id=row.recipient_id)
        work.session.flush()  # the view reads what was just written
    return hand_over(work, build_id)


@usecase(May.HAND_OVER)
def fit(work: Work, build_id: int, command: FitBuild, skin: SkinLimits) -> HandOverView:
    """Record a fitting: parts in place change together, the request is answered, follow-ups are set; or it failed.

    Said again on the same day, it is recorded once. Raises Blocked with everything that stands in the way; Invalid for
    skin that was looked at too early, and for parts that are not where they are said to be.
    """
    row = own(work, build_id)
    fitting = _fitting(work, row)
    on = command.on or work.today
    if row.state in {BuildState.FITTED, BuildState.WORN} and fitting is not None and fitting.fitted_on == on:
        return hand_over(work, build_id)
    require(work, row, BuildState.FITTED)
    delivery = _delivery(work, row)
    _check_day(work, on, delivery.on if delivery else row.opened_at.date(), "on")
    signed = _as_check(command, on)
    _check_fitting(work, command, signed, fitting, skin)
    check = write_check(work, row, signed)
    number = case_number_of(work, row)
    if command.checks.signs:
        seen = ReportSkin(signs=list(signed.signs), device=row.device_id, words=command.checks.words)
        report_skin(work, number, seen, skin)
    fitting = fitting or FittingRow(build_id=row.id, round=row.round, begun_by=work.actor.name)
    fitting.check_id, fitting.done_at, fitting.done_by = check.id, work.now, work.actor.name
    fitting.by_family, fitting.on_the_phone = command.by_family, command.on_the_phone
    fitting.guardian_present = command.guardian_present
    fitting.cautions_acknowledged_by = command.cautions_acknowledged_by
    work.session.add(fitting)
    if not check.passed:
        move(work, row, BuildState.SENT_BACK, failed_words(signed))
        return hand_over(work, build_id)
    fitting.fitted_on = on
    _put_on_the_limb(work, row, number, command, on)
    return hand_over(work, build_id)


def _put_on_the_limb(work: Work, row: BuildRow, number: str, command: FitBuild, on: date) -> None:
    """Everything that changes when something is fitted, in one transaction."""
    items = items_of(work, row.id)
    there = in_place(work, row.recipient_id)
    ends = coming_off(there, row.device_id, items, command)
    fitted = Fitted(row, number, command)
    device_id = device_for(work, fitted)
    over = going_over(there, device_id, command)
    put_in_place(work, fitted, items, ends)
    take_over(work, over, device_id, command)
    move(work, row, BuildState.FITTED)
    asked = work.session.get_one(RequestRow, row.request_id, with_for_update=True)
    if asked.state in UNSETTLED:
        settle(work, asked, RequestState.ANSWERED, f"Fitted on {on.isoformat()}, from build {row.id}.")
    for name, due_on in due_days(on):
        given = {"build_id": row.id, "recipient_id": row.recipient_id, "device_id": device_id}
        work.session.add(FollowUpRow(**given, name=name, due_on=due_on, counts_from=counts_from(name, due_on)))
    tell_deciders(work, FamilyMessage.FITTED, row.id, recipient_id=row.recipient_id)
    work.session.flush()  # the view reads what was just written


def _check_fitting(
    work: Work, command: FitBuild, signed: SignCheck, fitting: FittingRow | None, skin: SkinLimits
) -> None:
    look_at = fitting.look_at if fitting is not None and signed.on == work.today else None
    problem = skin_problem(command.checks.worn_minutes, look_at, work.now, skin.fades_minutes)
    if problem is not None:
        raise Invalid.at(*problem)
    if command.by_family and not command.on_the_phone:
        raise Invalid.at("on_the_phone", "Say who of us was on the telephone while the family fitted it.")
    need_signs(signed.findings, signed.signs)


def _as_check(command: FitBuild, on: date) -> SignCheck:
    checks = command.checks
    results = {ON_AND_OFF: checks.on_and_off, GAPING: checks.gaping, MOVEMENT: checks.movement, SKIN: checks.skin}
    words = checks.words or ", ".join(each.value.replace("_", " ") for each in checks.signs)
    findings = tuple(
        AddFinding(item=item, result=result, why="" if result is Result.PASS else words)
        for item, result in results.items()
    )
    return SignCheck(kind=CheckKind.FITTING, findings=findings, signs=checks.signs, on=on, remarks=checks.words)


def _check_day(work: Work, on: date, earliest: date, field: str) -> None:
    if on > work.today:
        raise Invalid.at(field, "This day is still to come. Record it once it is done.")
    if on < earliest:
        raise Invalid.at(field, f"It cannot have been before {earliest.isoformat()}. Check the day.")


def _delivery(work: Work, row: BuildRow) -> DeliveryRow | None:
    found = sa.select(DeliveryRow).where(DeliveryRow.build_id == row.id, DeliveryRow.round == row.round)
    return work.session.scalars(found).one_or_none()


def _fitting(work: Work, row: BuildRow) -> FittingRow | None:
    found = sa.select(FittingRow).where(FittingRow.build_id == row.id, FittingRow.round == row.round)
    return work.session.scalars(found).one_or_none()
