"""HTML face of matching: the plan, who could take a request, what is weighed, and offers on a phone."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Annotated, Any

from fastapi import APIRouter, Depends, Query, Request
from fastapi.responses import RedirectResponse, Response

from service.access.work import Work
from service.accounts.queries import sites
from service.kit.paging import Listing
from service.kit.schema import Id, Text
from service.matching import actions, posted, queries
from service.matching.rules import OfferState
from service.matching.schemas import AcceptPlan, AnswerOffer, MakePlan, OfferFilter, PlanResult, WeightsView
from service.web.edge import reads, writes
from service.web.forms import UNTOUCHED, Posted, command, filled, shown_again
from service.web.render import render

router = APIRouter()


@dataclass(frozen=True)
class Proposed:
    """A plan worked out, and the site it is for."""

    wanted: MakePlan
    result: PlanResult


@reads
def proposed(work: Work, form: Posted) -> Proposed:
    """Work the plan out before the transaction that keeps it opens: it can take seconds, and no writer waits."""
    wanted = command(MakePlan, filled(form))
    return Proposed(wanted, queries.propose(work, wanted))


@router.get("/plans")
@reads
def plans(work: Work, request: Request, wanted: Annotated[Listing, Query()]) -> Response:
    """Plans, and the button that makes one."""
    page = queries.plans(work, wanted)
    waiting = [(each.code, each.name, queries.waiting_to_be_planned(work, each.code)) for each in sites(work)]
    older = f"?cursor={page.next}" if page.next else None
    context = {"found": page.items, "waiting": waiting, "older": older, "first": wanted.cursor is None}
    return render(request, "matching/plans.html", context)


@router.post("/plans")
@writes
def make_plan(work: Work, made: Annotated[Proposed, Depends(proposed)]) -> Response:
    """Make a plan."""
    return RedirectResponse(f"/plans/{actions.keep_plan(work, made.wanted, made.result).id}", 303)


@router.get("/plans/{plan}")
@reads
def plan(work: Work, request: Request, plan: Id) -> Response:
    """A plan: each proposal in two sentences, and what is left over and why."""
    return render(request, "matching/plan.html", {"plan": queries.plan(work, plan), "skipped": []})


@router.post("/plans/{plan}/accept")
@writes
def accept_plan(work: Work, request: Request, plan: Id, form: Posted) -> Response:
    """Offer what was ticked, or somebody chosen instead; what could not be offered is said."""
    done = actions.accept_plan(work, plan, command(AcceptPlan, posted.accepted(form)))
    if not done.skipped:
        return RedirectResponse(f"/plans/{plan}?done=offers-made", 303)
    return render(request, "matching/plan.html", {"plan": queries.plan(work, plan), "skipped": done.skipped})


@router.get("/requests/{request_id}/candidates")
@reads
def candidates(work: Work, request: Request, request_id: Id, plan: Id | None = None) -> Response:
    """Who could take a request, with every reason; within a plan, to choose somebody else."""
    return render(request, "matching/candidates.html", {**_candidates(work, request_id, plan), **UNTOUCHED})


@router.post("/requests/{request_id}/candidates")
@writes
def choose(work: Work, request_id: Id, plan: Id, form: Posted) -> Response:
    """Ask somebody else than the plan proposes."""
    with shown_again("matching/candidates.html", form, lambda: _candidates(work, request_id, plan)):
        chosen = command(AcceptPlan, posted.instead(request_id, form))
        posted.nothing_skipped(actions.accept_plan(work, plan, chosen))
    return RedirectResponse(f"/plans/{plan}?done=offers-made", 303)


@router.get("/matching-weights")
@reads
def weights(work: Work, request: Request, wanted: Annotated[posted.TryWeights, Query()]) -> Response:
    """What is weighed against what, and what a change would do."""
    now = queries.weights(work, wanted.site)
    asked = wanted.over(now)
    tried = queries.try_weights(work, wanted.site, asked) if asked is not None else None
    context = {"now": now, "shown": asked or now, "tried": tried, "site": wanted.site, "sites": sites(work)}
    return render(request, "matching/weights.html", context)


@router.post("/matching-weights")
@writes
def keep_weights(work: Work, form: Posted, site: Text | None = None) -> Response:
    """Weigh differently from now on."""
    actions.keep_weights(work, site, command(WeightsView, filled(form)))
    return RedirectResponse("/matching-weights?done=weights-kept" + (f"&site={site}" if site else ""), 303)


@router.get("/assignments")
@reads
def assignments(work: Work, request: Request, wanted: Annotated[OfferFilter, Query()]) -> Response:
    """Offers and what was agreed to: a volunteer's own, or those of a coordinator's sites."""
    page = queries.offers(work, wanted)
    older = f"?cursor={page.next}" + (f"&state={wanted.state.value}" if wanted.state else "") if page.next else None
    return render(request, "matching/assignments.html", {"found": page.items, "wanted": wanted, "older": older})


@router.get("/assignments/{offer}")
@reads
def assignment(work: Work, request: Request, offer: Id) -> Response:
    """One offer, and where to bring it for whoever may know."""
    return render(request, "matching/assignment.html", {"offer": queries.offer(work, offer), **UNTOUCHED})


@router.post("/assignments/{offer}/accept")
@writes
def accept(work: Work, offer: Id, form: Posted) -> Response:
    """Say yes."""
    with shown_again("matching/assignment.html", form, lambda: {"offer": queries.offer(work, offer)}):
        actions.accept_offer(work, offer, command(AnswerOffer, filled(form)))
    return RedirectResponse(f"/assignments/{offer}?done=offer-answered", 303)


@router.post("/assignments/{offer}/decline")
@writes
def decline(work: Work, offer: Id, form: Posted) -> Response:
    """Say no."""
    with shown_again("matching/assignment.html", form, lambda: {"offer": queries.offer(work, offer)}):
        actions.decline_offer(work, offer, command(AnswerOffer, filled(form)))
    return RedirectResponse(f"/assignments/{offer}?done=offer-answered", 303)


@router.post("/assignments/{offer}/take-back")
@writes
def take_back(work: Work, offer: Id, form: Posted) -> Response:
    """Take an offer back."""
    with shown_again("matching/assignment.html", form, lambda: {"offer": queries.offer(work, offer)}):
        actions.take_back(work, offer, command(AnswerOffer, filled(form)))
    return RedirectResponse(f"/assignments/{offer}?done=offer-taken-back", 303)


@router.get("/offers/{token}")
@reads
def asked(work: Work, request: Request, token: str) -> Response:
    """An offer on the phone of whoever has its link."""
    return render(request, "matching/asked.html", _asked(work, token))


@router.post("/offers/{token}/accept")
@writes
def accept_by_link(work: Work, token: str, form: Posted) -> Response:
    """Say yes with a tap."""
    with shown_again("matching/asked.html", form, lambda: _asked(work, token)):
        actions.answer_by_link(work, token, OfferState.ACCEPTED, AnswerOffer())
    return RedirectResponse(f"/offers/{token}", 303)


@router.post("/offers/{token}/decline")
@writes
def decline_by_link(work: Work, token: str, form: Posted) -> Response:
    """Say no with a tap, and why if they like."""
    with shown_again("matching/asked.html", form, lambda: _asked(work, token)):
        actions.answer_by_link(work, token, OfferState.DECLINED, command(AnswerOffer, posted.declined(form)))
    return RedirectResponse(f"/offers/{token}", 303)


def _asked(work: Work, token: str) -> dict[str, Any]:
    return {"offer": queries.offer_by_link(work, token), "token": token, **UNTOUCHED}


def _candidates(work: Work, request_id: int, plan_id: int | None) -> dict[str, Any]:
    found = queries.candidates(work, request_id)
    plan = queries.plan(work, plan_id) if plan_id is not None else None
    proposal = next((each for each in plan.assignments if each.request == request_id), None) if plan else None
    return {"found": found, "request_id": request_id, "plan": plan, "proposal": proposal}
