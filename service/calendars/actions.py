"""Making, ending and opening a feed."""

from __future__ import annotations

import sqlalchemy as sa

from service.access.permissions import May
from service.access.usecase import usecase
from service.access.work import Work
from service.accounts.acting import acting_as
from service.audit.actions import note
from service.calendars.queries import entries
from service.calendars.rules import as_calendar
from service.calendars.schemas import MadeFeed
from service.calendars.tables import FeedRow
from service.kit.errors import Conflict
from service.kit.passwords import fingerprint, random_text


@usecase(May.KEEP_OWN_ACCOUNT)
def make_feed(work: Work, *, base_url: str) -> MadeFeed:
    """Make the actor's feed; the one they had before ends."""
    key = random_text()
    row = work.session.get(FeedRow, work.actor.account_id, with_for_update=True)
    if row is None:
        row = FeedRow(account_id=work.actor.account_id)
        work.session.add(row)
    row.key_hash, row.made_at, row.fetched_at = fingerprint(key), work.now, None
    note(work, "made", "calendar feed", subject_id=work.actor.account_id)
    return MadeFeed(url=f"{base_url.rstrip('/')}/calendars/{key}.ics")


@usecase(May.KEEP_OWN_ACCOUNT)
def end_feed(work: Work) -> None:
    """End the actor's feed at once; raises Conflict when there is none."""
    row = work.session.get(FeedRow, work.actor.account_id, with_for_update=True)
    if row is None or row.key_hash is None:
        raise Conflict("You have no calendar link that could be ended.")
    row.key_hash = None
    note(work, "ended", "calendar feed", subject_id=work.actor.account_id)


@usecase(May.OPEN_CALENDARS)
def open_feed(work: Work, key: str, *, base_url: str, name: str) -> bytes | None:
    """The calendar a link opens, as its owner may see things today; None, and noted, for one that opens nothing.

    It is returned, not raised, so that what was tried is stored.
    """
    row = work.session.scalars(sa.select(FeedRow).where(FeedRow.key_hash == fingerprint(key))).one_or_none()
    owner = None if row is None else acting_as(work, row.account_id)
    if row is None or owner is None:
        note(work, "tried a link that opens nothing", "calendar feed", subject_id=row.account_id if row else None)
        return None
    row.fetched_at = work.now
    found = entries(Work(work.session, owner, work.now))
    return as_calendar(found, name=name, base_url=base_url, now=work.now)
