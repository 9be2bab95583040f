"""How long making takes at each site, as its own requests show: from asked until handed over, or waited for still.

Days on which the clock stood still count too: whoever it waited for, the limb grew meanwhile. Requests that were closed
without what they asked for say nothing of how long it takes.
"""

from __future__ import annotations

from collections import defaultdict
from datetime import timedelta
from typing import Final

import sqlalchemy as sa

from service.access.work import Work
from service.accounts.tables import SiteRow
from service.growth.actions import learn_lead
from service.recipients.tables import RecipientRow
from service.requests.rules import UNSETTLED, RequestKind, RequestState
from service.requests.tables import RequestRow

LEARNED_FROM: Final = (RequestKind.FIRST_DEVICE, RequestKind.NEXT_SOCKET)
"""Kinds of requests that end with a socket made and handed over."""

LOOK_BACK: Final = timedelta(days=730)
"""Requests asked longer ago say little of who makes sockets there now. Judgement."""

LEAST_DAYS: Final = 1.0
"""What was written down and handed over in one sitting took a day at least."""

_DAY = timedelta(days=1)


def learn_leads(work: Work) -> None:
    """Have each site's lead time learned anew from the requests of the last two years."""
    observed = _observed(work)
    for site_id in work.session.scalars(sa.select(SiteRow.id).order_by(SiteRow.id)).all():
        learn_lead(work, site_id, observed[site_id])


def _observed(work: Work) -> defaultdict[int, list[tuple[float, bool]]]:
    """By site: the days of each request, and whether it is waited for still."""
    counted = (*UNSETTLED, RequestState.ANSWERED)
    statement = (
        sa.select(RecipientRow.site_id, RequestRow.asked_at, RequestRow.settled_at)
        .join(RecipientRow, RecipientRow.id == RequestRow.recipient_id)
        .where(
            RequestRow.kind.in_(LEARNED_FROM),
            RequestRow.state.in_(counted),
            RequestRow.joined_into_id.is_(None),
            RequestRow.asked_at >= work.now - LOOK_BACK,
        )
        .order_by(RequestRow.id)
    )
    found: defaultdict[int, list[tuple[float, bool]]] = defaultdict(list)
    for site_id, asked_at, settled_at in work.session.execute(statement):
        days = ((settled_at or work.now) - asked_at) / _DAY
        found[site_id].append((max(LEAST_DAYS, days), settled_at is None))
    return found
