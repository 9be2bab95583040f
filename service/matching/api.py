"""REST face of matching."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Annotated

from fastapi import APIRouter, Depends, Query

from service.access.work import Work
from service.kit.paging import Listing, Page
from service.kit.schema import Id, Text
from service.matching import actions, queries
from service.matching.schemas import (
    AcceptedPlan,
    AcceptPlan,
    AnswerOffer,
    CandidateView,
    HistoryView,
    LinkView,
    MakePlan,
    OfferFilter,
    OfferView,
    PlanLine,
    PlanResult,
    PlanView,
    Tried,
    WeightsView,
)
from service.web.edge import reads, writes

router = APIRouter(tags=["matching"])


@dataclass(frozen=True)
class Proposed:
    """A plan worked out, and what was asked for."""

    command: MakePlan
    result: PlanResult


@reads
def proposed(work: Work, command: MakePlan) -> Proposed:
    """Work the plan out before the transaction that keeps it opens: it can take seconds, and no writer waits."""
    return Proposed(command, queries.propose(work, command))


@router.get("/requests/{request_id}/candidates")
@reads
def candidates(work: Work, request_id: Id) -> list[CandidateView]:
    """Every volunteer of the site, those who can take it first, with all that fits and all that stands in the way."""
    return queries.candidates(work, request_id)


@router.get("/volunteers/{volunteer}/history")
@reads
def history(work: Work, volunteer: Id) -> HistoryView:
    """What a volunteer was asked so far, what they said, and how long what they made took."""
    return queries.history(work, volunteer)


@router.post("/plans", status_code=201)
@writes
def make_plan(work: Work, made: Annotated[Proposed, Depends(proposed)]) -> PlanView:
    """A plan for all open requests of a site, at the least cost that can be."""
    return actions.keep_plan(work, made.command, made.result)


@router.get("/plans")
@reads
def plans(work: Work, wanted: Annotated[Listing, Query()]) -> Page[PlanLine]:
    """Plans of your sites, newest first."""
    return queries.plans(work, wanted)


@router.get("/plans/{plan}")
@reads
def plan(work: Work, plan: Id) -> PlanView:
    """A plan as it was proposed, and which of its requests are offered."""
    return queries.plan(work, plan)


@router.post("/plans/{plan}/accept")
@writes
def accept_plan(work: Work, plan: Id, command: AcceptPlan) -> AcceptedPlan:
    """Offer all of a plan, some of it, or what you decide instead; what has changed since is left out and said."""
    return actions.accept_plan(work, plan, command)


@router.get("/matching-weights")
@reads
def weights(work: Work, site: Text | None = None) -> WeightsView:
    """What a site weighs against what."""
    return queries.weights(work, site)


@router.put("/matching-weights")
@writes
def keep_weights(work: Work, command: WeightsView, site: Text | None = None) -> WeightsView:
    """Weigh differently from now on."""
    return actions.keep_weights(work, site, command)


@router.post("/matching-weights/tried")
@reads
def try_weights(work: Work, command: WeightsView, site: Text | None = None) -> Tried:
    """What other weights would change in today's plan; nothing is kept."""
    return queries.try_weights(work, site, command)


@router.get("/offers")
@reads
def offers(work: Work, wanted: Annotated[OfferFilter, Query()]) -> Page[OfferView]:
    """Offers made to you, or as a coordinator those of your sites, newest first."""
    return queries.offers(work, wanted)


@router.get("/offers/{offer}")
@reads
def offer(work: Work, offer: Id) -> OfferView:
    """One offer."""
    return queries.offer(work, offer)


@router.post("/offers/{offer}/accept")
@writes
def accept_offer(work: Work, offer: Id, command: AnswerOffer) -> OfferView:
    """Say yes."""
    return actions.accept_offer(work, offer, command)


@router.post("/offers/{offer}/decline")
@writes
def decline_offer(work: Work, offer: Id, command: AnswerOffer) -> OfferView:
    """Say no; the next is asked at once."""
    return actions.decline_offer(work, offer, command)


@router.post("/offers/{offer}/take-back")
@writes
def take_back(work: Work, offer: Id, command: AnswerOffer) -> OfferView:
    """Take an offer back and say why; the request is planned again."""
    return actions.take_back(work, offer, command)


@router.post("/offers/{offer}/link", status_code=201)
@writes
def new_link(work: Work, offer: Id) -> LinkView:
    """A new link to an offer that waits; the one before works no more."""
    return actions.new_link(work, offer)


@router.get("/assignments")
@reads
def assignments(work: Work, wanted: Annotated[Listing, Query()]) -> Page[OfferView]:
    """What was agreed to and is not handed over yet."""
    return queries.assignments(work, wanted)
