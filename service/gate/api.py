"""REST face of the gate. What is blocked answers 409 with `blocked_by`, whatever its body."""

from __future__ import annotations

from fastapi import APIRouter, Request

from service.access.work import Work
from service.builds.rules import BuildState
from service.builds.schemas import BuildView
from service.gate import actions, queries
from service.gate.schemas import (
    Accept,
    BlocksView,
    ChecksView,
    CheckView,
    EndRule,
    FirstTimeView,
    GateView,
    LiftView,
    LimitView,
    MoveBuild,
    RecordRule,
    RuleView,
    SetLimit,
    SignCheck,
)
from service.kit.paging import Page
from service.kit.schema import Id
from service.safety.limits import skin_limits
from service.web.edge import frame, reads, writes
from service.web.sent import Sent, body_of

router = APIRouter(tags=["gate"])


@router.post("/builds/{build_id}/moves", openapi_extra=body_of(MoveBuild))
@writes
def move_build(work: Work, build_id: Id, sent: Sent) -> BuildView:
    """Move a build on: `{"to", "why"?}`."""
    actions.refuse_blocked(work, build_id, _state(sent.loosely().get("to")))
    return actions.move_build(work, build_id, sent.read(MoveBuild))


@router.get("/builds/{build_id}/blocks")
@reads
def blocks(work: Work, build_id: Id) -> BlocksView:
    """What stands in the way of a build, and what alone lifts each."""
    return queries.blocks(work, build_id)


@router.get("/builds/{build_id}/gate")
@reads
def gate(work: Work, build_id: Id) -> GateView:
    """Blocks, checks, acceptances, and where a build can go."""
    return queries.gate(work, build_id)


@router.get("/builds/{build_id}/checks")
@reads
def checks(work: Work, build_id: Id) -> ChecksView:
    """The checks of a build, and what each kind of check asks for."""
    return queries.checks(work, build_id)


@router.post("/builds/{build_id}/checks", status_code=201)
@writes
def sign_check(work: Work, request: Request, build_id: Id, command: SignCheck) -> CheckView:
    """Sign a check; one that passes clears the build if nothing else is in the way, one that fails sends it back."""
    return actions.sign_check(work, build_id, command, skin_limits(frame(request).settings))


@router.post("/builds/{build_id}/acceptances", status_code=201)
@writes
def accept(work: Work, build_id: Id, command: Accept) -> GateView:
    """Accept one block of a build in writing, as a clinician."""
    return actions.accept(work, build_id, command)


@router.get("/volunteers/{volunteer}/first-time")
@reads
def first_time(work: Work, volunteer: Id) -> FirstTimeView:
    """How often what a volunteer made passed its first bench check, with its interval."""
    return queries.first_time(work, volunteer)


@router.get("/blocks")
@reads
def lifts(work: Work) -> Page[LiftView]:
    """The table of what blocks, and what alone lifts it."""
    return Page(items=queries.lifts(work))


@router.get("/site-rules")
@reads
def rules(work: Work) -> Page[RuleView]:
    """What the trustees of your sites recorded."""
    return Page(items=queries.rules(work))


@router.post("/site-rules", status_code=201)
@writes
def record_rule(work: Work, command: RecordRule) -> RuleView:
    """Record what the trustees of a site decided, with a name under it."""
    return actions.record_rule(work, command)


@router.post("/site-rules/{rule_id}/end")
@writes
def end_rule(work: Work, rule_id: Id, command: EndRule) -> RuleView:
    """End a rule."""
    return actions.end_rule(work, rule_id, command)


@router.put("/check-limits")
@writes
def set_limit(work: Work, command: SetLimit) -> LimitView:
    """Set a site's own limit of a measured finding, with where it is from."""
    return actions.set_limit(work, command)


def _state(given: object) -> BuildState | None:
    return BuildState(given) if isinstance(given, str) and given in set(BuildState) else None
