"""Whose builds somebody may see, as SQL, and who counts as having made one."""

from __future__ import annotations

import sqlalchemy as sa

from service.access.permissions import Role
from service.access.work import Work
from service.builds.rules import BuildState
from service.builds.tables import BuildMoveRow, BuildRow, PrintRow
from service.recipients.tables import HelperRow
from service.volunteers.tables import VolunteerRow

_WHOLE_SITE = {Role.COORDINATOR, Role.CLINICIAN, Role.SAFEGUARDING_LEAD}


def visible_builds(work: Work) -> sa.ColumnElement[bool]:
    """Who runs a site sees the site's; a volunteer those they make or checked, and of cases they help with.

    What waits for its bench check is seen by every volunteer of the site: somebody other than the maker has to sign,
    and a build shows neither name nor address to who may not see the case.
    """
    if Role.SYSTEM in work.actor.roles:
        return sa.true()
    at_own_site = BuildRow.site_id.in_(work.actor.sites)
    if work.actor.roles & _WHOLE_SITE:
        return at_own_site
    moved = sa.exists().where(BuildMoveRow.build_id == BuildRow.id, BuildMoveRow.by_account_id == work.actor.account_id)
    return sa.and_(at_own_site, sa.or_(_agreed(work), BuildRow.state == BuildState.MADE, moved, _helps(work)))


def theirs_to_make(work: Work) -> sa.ColumnElement[bool]:
    """Whether a build is the actor's to make or to run, of those they see; the others they look at or check."""
    if Role.SYSTEM in work.actor.roles or work.actor.roles & _WHOLE_SITE:
        return sa.true()
    return sa.or_(_agreed(work), _helps(work))


def sees_case(work: Work) -> sa.ColumnElement[bool]:
    """Whether the actor sees the case that a build is for."""
    if Role.SYSTEM in work.actor.roles or work.actor.roles & _WHOLE_SITE:
        return sa.true()
    return _helps(work)


def makers(work: Work, row: BuildRow) -> set[int]:
    """The accounts of who made a build, in whichever round: none of them signs its bench check."""
    of_volunteer = sa.select(VolunteerRow.account_id).where(VolunteerRow.id == row.volunteer_id)
    printed = sa.select(PrintRow.by_account_id).where(PrintRow.build_id == row.id)
    finished = sa.select(BuildMoveRow.by_account_id).where(
        BuildMoveRow.build_id == row.id, BuildMoveRow.to == BuildState.MADE
    )
    found = work.session.scalars(sa.union(of_volunteer, printed, finished))
    return {each for each in found if each is not None}


def _agreed(work: Work) -> sa.ColumnElement[bool]:
    own = sa.exists().where(VolunteerRow.id == BuildRow.volunteer_id, VolunteerRow.account_id == work.actor.account_id)
    return own.correlate(BuildRow)  # a list of builds joins volunteers too


def _helps(work: Work) -> sa.ColumnElement[bool]:
    return sa.exists().where(
        HelperRow.recipient_id == BuildRow.recipient_id,
        HelperRow.account_id == work.actor.account_id,
        sa.or_(HelperRow.until.is_(None), HelperRow.until > work.today),
    )
