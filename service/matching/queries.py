"""Reading candidates, plans and offers."""

from __future__ import annotations

import sqlalchemy as sa

from service.access.permissions import May
from service.access.usecase import usecase
from service.access.work import Work
from service.accounts.queries import site_choice
from service.accounts.tables import SiteRow
from service.kit.errors import NotFound
from service.kit.paging import Listing, Page, decode, encode
from service.kit.passwords import fingerprint
from service.matching import planning
from service.matching.gathering import Gathered, gather, open_jobs
from service.matching.history import history_of
from service.matching.rows import as_weights, offer_views, own_offers, plan_row, site_of_request, weights_of
from service.matching.rules import OfferState
from service.matching.schemas import (
    CandidateView,
    Changed,
    HistoryView,
    MakePlan,
    OfferFilter,
    OfferView,
    PlanLine,
    PlanResult,
    PlanView,
    Tried,
    WeightsView,
)
from service.matching.tables import OfferRow, PlanRow
from service.recipients.tables import RecipientRow
from service.requests.tables import RequestRow
from service.volunteers.queries import volunteer


@usecase(May.PLAN)
def candidates(work: Work, request_id: int) -> list[CandidateView]:
    """Every volunteer of the site beside a request, with all reasons; raises NotFound."""
    site_id = site_of_request(work, request_id)
    found = gather(work, site_id, request_id)
    return planning.candidates(found.volunteers, found.jobs[0], as_weights(weights_of(work, site_id)), work.today)


@usecase(May.PLAN)
def weights(work: Work, site: str | None) -> WeightsView:
    """What a site weighs against what."""
    return weights_of(work, site_choice(work, site))


@usecase(May.PLAN)
def propose(work: Work, command: MakePlan) -> PlanResult:
    """The least plan for a site's open requests, worked out and not kept: it can take seconds, so no writer waits."""
    site_id = site_choice(work, command.site)
    found = gather(work, site_id)
    by = as_weights(command.weights or weights_of(work, site_id))
    return planning.plan(found.volunteers, found.jobs, by, work.today)


@usecase(May.PLAN)
def try_weights(work: Work, site: str | None, tried: WeightsView) -> Tried:
    """What other weights would do to the plan of today: which proposals change, days late and kilometres in all."""
    site_id = site_choice(work, site)
    found = gather(work, site_id)
    now = planning.plan(found.volunteers, found.jobs, as_weights(weights_of(work, site_id)), work.today)
    then = planning.plan(found.volunteers, found.jobs, as_weights(tried), work.today)
    said = [{each.request: each.name for each in one.assignments} for one in (now, then)]
    changes = [
        Changed(title=job.title, before=said[0].get(job.id, "nobody"), after=said[1].get(job.id, "nobody"))
        for job in found.jobs
        if said[0].get(job.id) != said[1].get(job.id)
    ]
    return Tried(
        weights=tried,
        changes=changes,
        proposals=len(now.assignments),
        days_late=(planning.days_late(now), planning.days_late(then)),
        kilometres=(_km(found, now), _km(found, then)),
    )


@usecase(May.PLAN)
def plan(work: Work, plan_id: int) -> PlanView:
    """A plan as it was proposed, and what has become of it; raises NotFound."""
    row, code, name = plan_row(work, plan_id)
    states = work.session.execute(
        sa.select(OfferRow.request_id, OfferRow.state).where(OfferRow.plan_id == plan_id).order_by(OfferRow.id)
    )
    return PlanView.model_validate(
        {
            **row.result,
            "id": row.id,
            "site": code,
            "site_name": name,
            "made_at": row.made_at,
            "made_by": row.made_by,
            "weights": row.weights,
            "settled_at": row.settled_at,
            "settled_by": row.settled_by,
            "offered": {row.request_id: row.state for row in states},
        }
    )


@usecase(May.PLAN)
def plans(work: Work, wanted: Listing) -> Page[PlanLine]:
    """Plans of the actor's sites, the newest first."""
    columns = (PlanRow.id, SiteRow.name.label("site_name"), PlanRow.made_at, PlanRow.made_by, PlanRow.settled_at)
    found = sa.select(*columns).join(SiteRow, SiteRow.id == PlanRow.site_id).order_by(PlanRow.id.desc())
    found = found.where(PlanRow.site_id.in_(work.actor.sites))
    if wanted.cursor is not None:
        found = found.where(PlanRow.id < decode(wanted.cursor, (int,))[0])
    rows = work.session.execute(found.limit(wanted.limit + 1)).all()
    shown = [PlanLine.model_validate(row._mapping) for row in rows[: wanted.limit]]
    return Page(items=shown, next=encode((shown[-1].id,)) if len(rows) > len(shown) else None)


@usecase(May.ANSWER_OFFERS)
def offers(work: Work, wanted: OfferFilter) -> Page[OfferView]:
    """Offers, the newest first: those of their sites to a coordinator, their own to a volunteer."""
    conditions = [own_offers(work)]
    if wanted.state is not None:
        conditions.append(OfferRow.state == wanted.state)
    return _page(work, wanted, conditions)


@usecase(May.ANSWER_OFFERS)
def history(work: Work, volunteer_id: int) -> HistoryView:
    """What a volunteer was asked so far; raises NotFound unless it is the actor, or the actor plans for their site."""
    found = volunteer(work, volunteer_id)
    if not (found.is_own or work.actor.can(May.PLAN)):
        raise NotFound("What others were asked is for them and their coordinators.")
    return history_of(work, volunteer_id, found.name)


@usecase(May.ANSWER_OFFERS)
def assignments(work: Work, wanted: Listing) -> Page[OfferView]:
    """What was agreed to and is not handed over yet."""
    agreed = (OfferRow.state == OfferState.ACCEPTED, RequestRow.settled_at.is_(None))
    return _page(work, wanted, [own_offers(work), *agreed])


@usecase(May.ANSWER_OFFERS)
def offer(work: Work, offer_id: int) -> OfferView:
    """One offer; raises NotFound for none, and for one that is not the actor's to see."""
    found = offer_views(work, own_offers(work), OfferRow.id == offer_id)
    if not found:
        raise NotFound("There is no offer with this number that you may see.")
    return found[0]


@usecase(May.OPEN_OFFERS)
def offer_by_link(work: Work, token: str) -> OfferView:
    """The offer a link was made for; raises NotFound. The link is all that is asked for, so no address is shown."""
    found = offer_views(work, OfferRow.token_hash == fingerprint(token), by_link=True)
    if not found:
        raise NotFound("This link leads to no offer. Open the newest message, or ring the coordinator.")
    return found[0]


@usecase(May.PLAN)
def waiting_to_be_planned(work: Work, site: str | None) -> int:
    """How many requests of a site somebody could be proposed for."""
    waiting = sa.select(sa.func.count()).select_from(RequestRow)
    waiting = waiting.join(RecipientRow, RecipientRow.id == RequestRow.recipient_id)
    here = RecipientRow.site_id == site_choice(work, site)
    return work.session.scalar(waiting.where(here, open_jobs())) or 0


def _page(work: Work, wanted: Listing, conditions: list[sa.ColumnElement[bool]]) -> Page[OfferView]:
    if wanted.cursor is not None:
        conditions = [*conditions, OfferRow.id < decode(wanted.cursor, (int,))[0]]
    found = offer_views(work, *conditions, limit=wanted.limit + 1)
    shown = found[: wanted.limit]
    return Page(items=shown, next=encode((shown[-1].id,)) if len(found) > len(shown) else None)


def _km(found: Gathered, result: PlanResult) -> int:
    return planning.kilometres(found.volunteers, found.jobs, result)
