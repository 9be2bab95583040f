"""A photograph to a request is kept once, and not more of them than show something."""

from __future__ import annotations

from dataclasses import dataclass

import sqlalchemy as sa

from service.access.work import Work
from service.audit.actions import note
from service.kit.errors import Conflict, NotFound
from service.kit.jobs import enqueue
from service.requests.keeping import own
from service.requests.rules import MOST_PHOTOS
from service.requests.tables import PhotoRow

FORGET = "requests.forget_photo"


@dataclass(frozen=True)
class KeptPhoto:
    """A photograph made plain, in the file store: its name there, its size in bytes, and in pixels."""

    sha256: str
    size: int
    width: int
    height: int


def add(work: Work, request_id: int, kept: KeptPhoto) -> None:
    """Keep it with the request; the same once more changes nothing. Raises Conflict when there are enough."""
    row = own(work, request_id)
    there = set(work.session.scalars(sa.select(PhotoRow.sha256).where(PhotoRow.request_id == request_id)))
    if kept.sha256 in there:
        return
    if len(there) >= MOST_PHOTOS:
        raise Conflict(f"There are {MOST_PHOTOS} photographs already, which is as many as are kept. Thank you.")
    photo = PhotoRow(request_id=request_id, added_at=work.now, added_by=work.actor.name, **vars(kept))
    work.session.add(photo)
    work.session.flush()  # the id is needed below, and the view reads what was just written
    note(work, "added", "photograph", subject_id=photo.id, recipient_id=row.recipient_id)


def remove(work: Work, request_id: int, photo_id: int) -> None:
    """Take a photograph away; its file goes too, once nothing names it. Raises NotFound for none."""
    row = own(work, request_id, settled=True)
    mine = sa.select(PhotoRow).where(PhotoRow.id == photo_id, PhotoRow.request_id == request_id)
    found = work.session.scalars(mine).one_or_none()
    if found is None:
        raise NotFound("This request has no such photograph.")
    work.session.delete(found)
    note(work, "removed", "photograph", subject_id=photo_id, recipient_id=row.recipient_id)
    enqueue(work.session, FORGET, now=work.now, key=f"{FORGET}:{found.sha256}", payload={"sha256": found.sha256})
    work.session.flush()  # the view reads what was just written


def is_shown(work: Work, sha256: str) -> bool:
    """Whether any request still shows the photograph in a file."""
    return work.session.scalar(sa.select(PhotoRow.id).where(PhotoRow.sha256 == sha256).limit(1)) is not None
