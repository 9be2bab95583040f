"""Closing an incident: what came of it, and whether and when it was reported."""

from __future__ import annotations

from service.access.permissions import May
from service.access.usecase import usecase
from service.access.work import Work
from service.audit.actions import note
from service.kit.errors import Conflict, Invalid
from service.safety.queries import incident
from service.safety.rules import closing_problem
from service.safety.schemas import CloseIncident, IncidentView
from service.safety.tables import IncidentRow


@usecase(May.JUDGE_INCIDENTS)
def close_incident(work: Work, incident_id: int, command: CloseIncident) -> IncidentView:
    """Close an incident, by name, with what came of it.

    Raises Conflict for one that nobody has judged and for one closed already, Invalid when a serious one does not say
    whether it was reported.
    """
    incident(work, incident_id)  # raises NotFound for what is not the actor's
    row = work.session.get_one(IncidentRow, incident_id, with_for_update=True, populate_existing=True)
    if row.closed_at is not None:
        raise Conflict(f"{row.closed_by} has closed this already. If more has happened, report it anew.")
    if row.serious is None:
        raise Conflict("Nobody has judged this yet. Judge how serious it is, then close it.")
    found = closing_problem(
        command.reported_on,
        command.not_reported_why,
        serious=row.serious,
        aware_on=row.aware_on,
        today=work.today,
    )
    if found is not None:
        raise Invalid.at(*found)
    row.closed_at, row.closed_by, row.outcome = work.now, work.actor.name, command.outcome
    row.reported_on, row.not_reported_why = command.reported_on, command.not_reported_why or None
    reported = row.reported_on.isoformat() if row.reported_on else None
    changes = {"outcome": [None, row.outcome], "reported_on": [None, reported]}
    if row.not_reported_why:
        changes["not_reported_why"] = [None, row.not_reported_why]
    note(work, "closed", "incident", subject_id=row.id, recipient_id=row.recipient_id, changes=changes)
    work.session.flush()  # the view reads what was just written
    return incident(work, incident_id)
