"""What recording follow-ups and goals have in common: finding the device that is meant, what follows from harm."""

from __future__ import annotations

from datetime import date

import sqlalchemy as sa

from service.access.permissions import Role
from service.access.work import Work
from service.devices.tables import DeviceRow
from service.kit.days import full_day
from service.kit.errors import Conflict, Invalid, NotFound
from service.outcomes.rows import Followed, followed, standing, told
from service.outcomes.rules import Ask, Way, ask_on, day_problem, incident_words
from service.outcomes.schemas import FollowUpView, RecordFollowUp
from service.outcomes.tables import DeviceFollowUpRow, GoalRow
from service.recipients.schemas import SeenRecipient
from service.safety.actions import report_incident
from service.safety.rules import IncidentKind
from service.safety.schemas import ReportIncident


def meant(work: Work, seen: SeenRecipient, command: RecordFollowUp, on: date) -> tuple[Followed, Ask]:
    """The device that is spoken of and the ask it answers.

    Raises Invalid for a device that is not of the case, where it is not plain which is meant, and for a day on which
    nothing was asked.
    """
    # Locked, so that of the same answer sent twice at once the second finds the first.
    mine = sa.select(DeviceRow.id).where(DeviceRow.recipient_id == seen.id).order_by(DeviceRow.id).with_for_update()
    owned = set(work.session.scalars(mine))
    if command.device is not None and command.device not in owned:
        raise Invalid.at("device", "There is no such device in this case.")
    devices = followed(work, DeviceRow.recipient_id == seen.id)
    device = next((each for each in devices if each.device == command.device), None) or _only(work, devices, on)
    if (problem := day_problem(on, device.asks, device.first_fitted, work.today)) is not None:
        raise Invalid.at("on", problem)
    ask = ask_on(device.asks, on)
    assert ask is not None  # noqa: S101 `day_problem` has seen to it
    return device, ask


def _only(work: Work, devices: list[Followed], on: date) -> Followed:
    if not devices:
        raise Invalid.at("device", "Nothing is worn in this case yet. Record the device first.")
    came = told(work, [each.device for each in devices])
    asked = [(each, ask_on(each.asks, on)) for each in devices]
    waiting = [each for each, ask in asked if ask and standing(came.get((each.device, ask.name), [])) is None]
    choose_from = waiting or [each for each, ask in asked if ask] or devices
    if len(choose_from) == 1:
        return choose_from[0]
    names = "; ".join(f"{each.device} ({each.purpose}, {each.side})" for each in choose_from)
    raise Invalid.at("device", f"Several devices are asked about. Say which one you mean: {names}.")


def same_again(before: FollowUpView, command: RecordFollowUp, on: date, way: Way) -> FollowUpView:
    """What is on record, where the very same is sent again; raises Conflict for anything else."""
    was = {name: getattr(before, name) for name in type(command.said).__slots__}
    sent = {name: getattr(command.said, name) for name in was} | {"used_for": list(command.said.used_for)}
    like = (before.outcome, before.on, before.way, before.answered_by, was)
    if like == (command.outcome, on, way, command.answered_by, sent):
        return before
    raise Conflict(
        f"This was recorded on {full_day(before.on)} already, as {before.outcome.label}. If that was wrong, strike it "
        "through and record it anew."
    )


def way_of(work: Work, command: RecordFollowUp) -> Way:
    """How somebody was asked: a family answers on its own page, everybody else writes down what was said to them."""
    if Role.FAMILY in work.actor.roles:
        return Way.LINK
    if command.way is Way.LINK:
        raise Invalid.at(
            "way", "A family answers on its own page itself. Say whether it was by telephone or at a visit."
        )
    return command.way


def open_what_harms(work: Work, seen: SeenRecipient, device: int, command: RecordFollowUp, ask: Ask) -> int | None:
    """Open an incident for harm and a lot of pain; its id, None where nothing of it was said."""
    if not command.said.harms:
        return None
    words = incident_words(command.said, ask.words)
    # The charity knows of it since somebody of it was told.
    aware_on = None if Role.FAMILY in work.actor.roles else command.on
    opened = ReportIncident(kind=IncidentKind.HARM, words=words, device=device, aware_on=aware_on)
    return report_incident(work, seen.case_number, opened)


def own_follow_up(work: Work, seen: SeenRecipient, follow_up: int) -> DeviceFollowUpRow:
    """A follow-up of a case, locked; raises NotFound."""
    mine = sa.select(DeviceFollowUpRow).where(
        DeviceFollowUpRow.id == follow_up, DeviceFollowUpRow.recipient_id == seen.id
    )
    locked = mine.with_for_update().execution_options(populate_existing=True)
    row = work.session.scalars(locked).one_or_none()
    if row is None:
        raise NotFound("There is no such follow-up in this case.")
    return row


def own_goal(work: Work, seen: SeenRecipient, goal: int) -> GoalRow:
    """A goal of a case, locked; raises NotFound."""
    mine = sa.select(GoalRow).where(GoalRow.id == goal, GoalRow.recipient_id == seen.id)
    row = work.session.scalars(mine.with_for_update().execution_options(populate_existing=True)).one_or_none()
    if row is None:
        raise NotFound("There is no such goal in this case.")
    return row


def own_device(work: Work, seen: SeenRecipient, device: int | None) -> None:
    """Raises Invalid for a device that is not of the case."""
    mine = sa.select(DeviceRow.id).where(DeviceRow.id == device, DeviceRow.recipient_id == seen.id)
    if device is not None and work.session.scalar(mine) is None:
        raise Invalid.at("device", "There is no such device in this case.")
