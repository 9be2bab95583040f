"""REST face of hand-overs. What is blocked answers 409 with `blocked_by`, whatever its body."""

from __future__ import annotations

from fastapi import APIRouter, Request

from service.access.work import Work
from service.builds.rules import BuildState
from service.gate.actions import refuse_blocked
from service.handovers import actions, queries
from service.handovers.schemas import DeliverBuild, FitBuild, HandOverView
from service.kit.schema import Id
from service.safety.limits import skin_limits
from service.web.edge import frame, reads, writes
from service.web.sent import Sent, body_of

router = APIRouter(tags=["hand-overs"])


@router.post("/builds/{build_id}/delivered", status_code=201, openapi_extra=body_of(DeliverBuild))
@writes
def deliver(work: Work, build_id: Id, sent: Sent) -> HandOverView:
    """It was given to somebody, at the door or by post."""
    refuse_blocked(work, build_id, BuildState.DELIVERED)
    return actions.deliver(work, build_id, sent.read(DeliverBuild))


@router.post("/builds/{build_id}/put-on", status_code=201)
@writes
def put_on(work: Work, request: Request, build_id: Id) -> HandOverView:
    """It is put on now: the skin is looked at some minutes from here, as `look_at` says."""
    return actions.put_on(work, build_id, skin_limits(frame(request).settings))


@router.post("/builds/{build_id}/fitted", status_code=201, openapi_extra=body_of(FitBuild))
@writes
def fit(work: Work, request: Request, build_id: Id, sent: Sent) -> HandOverView:
    """It was put on and checked: the parts in place change together, or it failed and goes back."""
    refuse_blocked(work, build_id, BuildState.FITTED)
    return actions.fit(work, build_id, sent.read(FitBuild), skin_limits(frame(request).settings))


@router.get("/builds/{build_id}/hand-over")
@reads
def hand_over(work: Work, build_id: Id) -> HandOverView:
    """How far a build is on its way to the limb."""
    return queries.hand_over(work, build_id)
