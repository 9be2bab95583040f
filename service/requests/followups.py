"""What flows up from a request that is settled: a job that a higher room does, asked for in the same transaction."""

from __future__ import annotations

from service.access.work import Work
from service.kit.jobs import enqueue

REQUEST_SETTLED = "requests.settled"
"""Look who was asked to make it, or makes it, and need not any more; the subject is the request."""


def tell_it_is_settled(work: Work, request_id: int) -> None:
    """A request was answered, closed, or joined into another."""
    enqueue(
        work.session,
        REQUEST_SETTLED,
        now=work.now,
        key=f"{REQUEST_SETTLED}:{request_id}",
        subject_id=request_id,
        payload={"request_id": request_id},
    )
