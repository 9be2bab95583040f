"""What flows up from a new forecast: a job that a higher room does, asked for in the same transaction."""

from __future__ import annotations

from service.access.work import Work
from service.kit.jobs import enqueue

REQUESTS_REVIEW = "requests.review"
"""Look whether a recipient's forecasts ask for something, or no longer do; the subject is the recipient."""


def ask_for_review(work: Work, recipient_id: int) -> None:
    """A forecast is new, or counts no more."""
    enqueue(
        work.session,
        REQUESTS_REVIEW,
        now=work.now,
        key=f"{REQUESTS_REVIEW}:{recipient_id}",
        subject_id=recipient_id,
        payload={"recipient_id": recipient_id},
    )
