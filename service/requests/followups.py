"""What flows up from a request: jobs that higher rooms do, asked for in the transaction of what happened to it."""

from __future__ import annotations

from service.access.work import Work
from service.kit.jobs import enqueue

REQUEST_SETTLED = "requests.settled"
"""Look who was asked to make it, or makes it, and need not any more; the subject is the request."""

REQUEST_AGREED = "requests.agreed"
"""Tell the family that somebody makes it; the subject is the request."""


def tell_it_is_settled(work: Work, request_id: int) -> None:
    """A request was answered, closed, or joined into another."""
    _follow_up(work, REQUEST_SETTLED, request_id)


def tell_it_is_agreed(work: Work, request_id: int) -> None:
    """Somebody said that they make what a request asks for."""
    _follow_up(work, REQUEST_AGREED, request_id)


def _follow_up(work: Work, kind: str, request_id: int) -> None:
    enqueue(
        work.session,
        kind,
        now=work.now,
        key=f"{kind}:{request_id}",
        subject_id=request_id,
        payload={"request_id": request_id},
    )
