"""Whether somebody has agreed to make what is asked for: said by the room that asks volunteers, as part of its act."""

from __future__ import annotations

from service.access.work import Work
from service.audit.actions import note
from service.requests.followups import tell_it_is_agreed
from service.requests.rules import RequestState
from service.requests.tables import RequestRow


def agreed(work: Work, request_id: int) -> bool:
    """Somebody makes it, and the family hears of it; False when it was not open any more."""
    moved = _moved(work, request_id, RequestState.OPEN, RequestState.AGREED)
    if moved:
        tell_it_is_agreed(work, request_id)
    return moved


def open_again(work: Work, request_id: int) -> bool:
    """Nobody makes it any more, so it waits again; False when nobody did."""
    return _moved(work, request_id, RequestState.AGREED, RequestState.OPEN)


def _moved(work: Work, request_id: int, before: RequestState, now: RequestState) -> bool:
    row = work.session.get_one(RequestRow, request_id, with_for_update=True, populate_existing=True)
    if row.state is not before:
        return False
    row.state = now
    changes = {"state": [before.value, now.value]}
    note(work, now.value, "request", subject_id=row.id, recipient_id=row.recipient_id, changes=changes)
    return True
