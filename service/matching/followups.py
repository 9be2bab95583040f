"""What flows up from an offer: jobs that a higher room does, asked for in the same transaction."""

from __future__ import annotations

from service.access.work import Work
from service.kit.jobs import enqueue

OFFER_ACCEPTED = "offers.accepted"
"""Begin what was agreed to; the subject is the offer."""

OFFER_WITHDRAWN = "offers.withdrawn"
"""Look whether what was planned is needed still; the subject is the request."""


def tell_it_is_accepted(work: Work, offer_id: int) -> None:
    """A volunteer said yes."""
    key = f"{OFFER_ACCEPTED}:{offer_id}"
    payload = {"offer_id": offer_id}
    enqueue(work.session, OFFER_ACCEPTED, now=work.now, key=key, subject_id=offer_id, payload=payload)


def tell_it_is_withdrawn(work: Work, request_id: int) -> None:
    """What somebody agreed to make was taken from them, or is not needed any more."""
    key = f"{OFFER_WITHDRAWN}:{request_id}"
    payload = {"request_id": request_id}
    enqueue(work.session, OFFER_WITHDRAWN, now=work.now, key=key, subject_id=request_id, payload=payload)
