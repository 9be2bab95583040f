"""What is asked for and not settled, as the work list and the case page say it."""

from __future__ import annotations

from collections.abc import Collection

from service.access.permissions import May
from service.access.work import Work
from service.casefile.schemas import AskedFor
from service.kit.days import full_day
from service.requests.queries import requests_of
from service.requests.telling import asked_in_words


def asked_for(work: Work, recipients: Collection[int]) -> dict[int, list[AskedFor]]:
    """Open requests by recipient, in the order of triage; none for whoever may not see requests."""
    if not work.actor.can(May.SEE_REQUESTS):
        return {each: [] for each in recipients}
    return {
        recipient: [
            AskedFor(
                id=each.id,
                kind=each.kind,
                device=each.device,
                what=each.what,
                said=f"{asked_in_words(each, work.today)}; needed by {full_day(each.needed_by)}.",
                needed_by=each.needed_by,
            )
            for each in found
        ]
        for recipient, found in requests_of(work, recipients).items()
    }
