"""Whether the service is up, for whoever keeps it running."""

from __future__ import annotations

import sqlalchemy as sa
from fastapi import APIRouter, Request

from service.web.edge import frame

router = APIRouter()


@router.api_route("/health", methods=["GET", "HEAD"])
def health(request: Request) -> dict[str, str]:
    """Answers once the database does."""
    with frame(request).db.reading() as session:
        session.execute(sa.select(1))
    return {"status": "up"}
