"""Keeping plans, making offers of them, and answering offers, each act with its audit entry in one transaction."""

from __future__ import annotations

import sqlalchemy as sa

from service.access.permissions import May
from service.access.usecase import usecase
from service.access.work import Work
from service.accounts.queries import site_choice
from service.audit.actions import note
from service.kit.errors import Conflict, Invalid
from service.kit.passwords import fingerprint, random_text
from service.matching.facts import Job, Volunteer
from service.matching.followups import tell_it_is_accepted, tell_it_is_withdrawn
from service.matching.gathering import Gathered, gather
from service.matching.offering import Asking, ask_the_next, asking, is_needed, offer_to, settle, tell_not_needed
from service.matching.queries import offer, offer_by_link, plan
from service.matching.reasons import reasons
from service.matching.rows import offer_views, plan_row, weights_of
from service.matching.rules import OfferState, answer_problem
from service.matching.schemas import (
    AcceptedPlan,
    AcceptPlan,
    AnswerOffer,
    LinkView,
    MakePlan,
    OfferView,
    PlanResult,
    PlanView,
    ProposalView,
    Skipped,
    WeightsView,
)
from service.matching.tables import OfferRow, PlanRow, WeightsRow
from service.matching.verdicts import Verdict
from service.requests.agreeing import agreed, open_again
from service.requests.rules import RequestState
from service.requests.tables import RequestRow

_STANDING = (OfferState.WAITING, OfferState.ACCEPTED)


@usecase(May.PLAN)
def keep_weights(work: Work, site: str | None, command: WeightsView) -> WeightsView:
    """Weigh differently at a site from now on; plans made before stay as they are."""
    site_id = site_choice(work, site)
    before = weights_of(work, site_id)
    row = work.session.get(WeightsRow, site_id, with_for_update=True) or WeightsRow(site_id=site_id)
    row.weights, row.changed_at, row.changed_by = command.model_dump(), work.now, work.actor.name
    work.session.add(row)
    changes = {name: [old, getattr(command, name)] for name, old in before if old != getattr(command, name)}
    note(work, "changed", "matching weights", subject_id=site_id, changes=changes)
    return command


@usecase(May.PLAN)
def keep_plan(work: Work, command: MakePlan, result: PlanResult) -> PlanView:
    """Keep a plan as it was proposed."""
    site_id = site_choice(work, command.site)
    row = PlanRow(
        site_id=site_id,
        made_at=work.now,
        made_by=work.actor.name,
        weights=(command.weights or weights_of(work, site_id)).model_dump(),
        result=result.model_dump(mode="json"),
        settled_at=None,
        settled_by=None,
    )
    work.session.add(row)
    work.session.flush()  # its number is answered
    note(work, "made", "plan", subject_id=row.id)
    return plan(work, row.id)


@usecase(May.PLAN)
def accept_plan(work: Work, plan_id: int, command: AcceptPlan) -> AcceptedPlan:
    """Offer what a plan proposes, or what was decided instead; doing so again changes nothing.

    What has changed since is left out and said: somebody agreed, it is not needed, or something is in the way now.
    Raises Invalid for a request the plan does not hold.
    """
    row, _, _ = plan_row(work, plan_id)
    work.session.refresh(row, with_for_update=True)  # of two who accept at once, the second finds the first's offers
    kept = PlanResult.model_validate(row.result)
    proposed = {each.request: each for each in kept.assignments}
    instead = {each.request: each for each in command.instead}
    known = proposed.keys() | {each.request for each in kept.unassigned}
    wanted = list(proposed) if command.requests is None else command.requests
    wanted = list(dict.fromkeys([*wanted, *instead]))
    if unknown := [each for each in wanted if each not in known]:
        raise Invalid.at("requests", f"This plan has no request {unknown[0]}. Choose among those it shows.")
    found = gather(work, row.site_id)
    made: dict[int, str | None] = {}
    skipped: list[Skipped] = []
    for request_id in wanted:
        other = instead.get(request_id)
        proposal = proposed.get(request_id)
        whom = other.volunteer if other else proposal.volunteer if proposal else None
        if whom is None:
            skipped.append(Skipped(request=request_id, why="Nobody is proposed for it. Choose somebody, and say why."))
            continue
        try:
            number, link = _offered(work, found, (plan_id, request_id, whom), proposal, other.why if other else "")
            made[number] = link
        except _NotNowError as not_now:
            skipped.append(Skipped(request=request_id, why=str(not_now)))
    if row.settled_at is None and made:
        row.settled_at, row.settled_by = work.now, work.actor.name
        note(work, "accepted", "plan", subject_id=plan_id)
    work.session.flush()  # the views read what was just written
    offers = [each.model_copy(update={"link": made[each.id]}) for each in offer_views(work, OfferRow.id.in_(made))]
    return AcceptedPlan(offers=offers, skipped=skipped)


class _NotNowError(Exception):
    """Why no offer is made for a request: said, while the others are made."""


def _offered(
    work: Work, found: Gathered, which: tuple[int, int, int], proposal: ProposalView | None, why: str
) -> tuple[int, str | None]:
    """The offer's number, and the text of its link if it is new; raises _NotNowError."""
    plan_id, request_id, volunteer_id = which
    standing = _standing(work, request_id)
    if standing is not None and standing.volunteer_id == volunteer_id:
        return standing.id, None
    volunteer, job = _still(work, found, request_id, volunteer_id)
    if standing is not None:
        settle(work, standing.id, OfferState.TAKEN_BACK, why or "Somebody else is asked.", was=(OfferState.WAITING,))
    ask = asking(volunteer, job, work.today, plan_id=plan_id)
    if proposal is not None and proposal.volunteer == volunteer_id and not why:
        deadline = max(proposal.there_by, proposal.needed_by)
        ask = Asking(volunteer, job, proposal.because, deadline, plan_id)
    made = offer_to(work, ask)
    if made is None:
        raise _NotNowError("Somebody was asked for it in this very moment. Look at it again.")
    if why:
        changes = {"offer": [None, made[0].id], "why": [None, why]}
        note(work, "decided otherwise", "plan", subject_id=plan_id, changes=changes)
    return made[0].id, made[1]


def _still(work: Work, found: Gathered, request_id: int, volunteer_id: int) -> tuple[Volunteer, Job]:
    """The volunteer and the job, if the one can take the other today as well; raises _NotNowError."""
    job = next((each for each in found.jobs if each.id == request_id), None)
    if job is None or not is_needed(work, request_id):
        raise _NotNowError("It is settled, or somebody agreed to it. What was agreed to does not move by itself.")
    volunteer = next((each for each in found.volunteers if each.id == volunteer_id), None)
    if volunteer is None:
        raise _NotNowError("This volunteer is not of the plan's site.")
    if problem := _in_the_way(volunteer, job, work):
        raise _NotNowError(problem)
    return volunteer, job


def _in_the_way(volunteer: Volunteer, job: Job, work: Work) -> str:
    found = reasons(volunteer, job, work.today)
    bars = [each for each in found if each.verdict is Verdict.IN_THE_WAY]
    return f"{volunteer.name}: {bars[0].words} {bars[0].remedy}".strip() if bars else ""


def _standing(work: Work, request_id: int) -> OfferRow | None:
    found = sa.select(OfferRow).where(OfferRow.request_id == request_id, OfferRow.state.in_(_STANDING))
    return work.session.scalars(found).one_or_none()


@usecase(May.PLAN)
def new_link(work: Work, offer_id: int) -> LinkView:
    """A new link to an offer that still waits, when the first was lost; raises Conflict once it is answered."""
    if offer(work, offer_id).state is not OfferState.WAITING:
        raise Conflict("This offer waits for no answer any more, so it needs no link.")
    token = random_text()
    row = work.session.get_one(OfferRow, offer_id, with_for_update=True)
    row.token_hash = fingerprint(token)
    note(work, "linked anew", "offer", subject_id=offer_id)
    return LinkView(link=token)


@usecase(May.PLAN)
def take_back(work: Work, offer_id: int, command: AnswerOffer) -> OfferView:
    """Take an offer back, even one accepted, and say why; then its request is planned again. Raises Conflict."""
    found = offer(work, offer_id)
    if not command.why:
        raise Invalid.at("why", "Say why: the volunteer was told that this is theirs.")
    if not settle(work, offer_id, OfferState.TAKEN_BACK, command.why, was=_STANDING):
        raise Conflict("This offer stands no more. There is nothing to take back.")
    open_again(work, found.request)
    tell_it_is_withdrawn(work, found.request)
    return offer(work, offer_id)


@usecase(May.ANSWER_OFFERS)
def accept_offer(work: Work, offer_id: int, command: AnswerOffer) -> OfferView:
    """Say yes; a coordinator may for somebody who rang. Twice is once. Raises Conflict when it is too late."""
    _answer(work, offer(work, offer_id), OfferState.ACCEPTED, command.why)
    return offer(work, offer_id)


@usecase(May.ANSWER_OFFERS)
def decline_offer(work: Work, offer_id: int, command: AnswerOffer) -> OfferView:
    """Say no; the next is asked at once. Twice is once. Raises Conflict when it is too late."""
    _answer(work, offer(work, offer_id), OfferState.DECLINED, command.why)
    return offer(work, offer_id)


@usecase(May.OPEN_OFFERS)
def answer_by_link(work: Work, token: str, state: OfferState, command: AnswerOffer) -> OfferView:
    """Answer an offer by its link, without signing in; raises NotFound for no offer, Conflict when it is too late."""
    _answer(work, offer_by_link(work, token), state, command.why)
    return offer_by_link(work, token)


@usecase(May.KEEP_OFFERS)
def lapse(work: Work, offer_id: int) -> None:
    """Let an offer lapse whose time is over, and ask the next."""
    row = work.session.get(OfferRow, offer_id)
    if row is None or row.lapses_at > work.now:
        return
    if settle(work, offer_id, OfferState.LAPSED, "Nobody answered in time.", was=(OfferState.WAITING,)):
        ask_the_next(work, row.request_id, row.plan_id)


@usecase(May.KEEP_OFFERS)
def release(work: Work, request_id: int) -> None:
    """Take back what stands of a request that is settled, and tell the volunteer; what was handed over stays theirs."""
    row = work.session.get(RequestRow, request_id)
    if row is None or row.settled_at is None:
        return
    was = (OfferState.WAITING,) if row.state is RequestState.ANSWERED else _STANDING
    standing = sa.select(OfferRow).where(OfferRow.request_id == request_id, OfferRow.state.in_(was))
    for found in work.session.scalars(standing).all():
        accepted = found.state is OfferState.ACCEPTED
        if settle(work, found.id, OfferState.TAKEN_BACK, "It is not needed any more.", was=was):
            tell_not_needed(work, found, accepted=accepted)
    tell_it_is_withdrawn(work, request_id)


@usecase(May.KEEP_OFFERS)
def tidy(work: Work) -> None:
    """The same of every request, once a day: nothing is left waiting for an answer that nobody needs."""
    over = (
        sa.select(OfferRow.request_id)
        .join(RequestRow, RequestRow.id == OfferRow.request_id)
        .where(OfferRow.state == OfferState.WAITING, RequestRow.settled_at.is_not(None))
    )
    for request_id in work.session.scalars(over).all():
        release(work, request_id)


def _answer(work: Work, found: OfferView, state: OfferState, why: str) -> None:
    if problem := answer_problem(found.state, state):
        raise Conflict(problem)
    if found.state is state:
        return
    needed = is_needed(work, found.request)
    if not needed and settle(
        work, found.id, OfferState.TAKEN_BACK, "It is not needed any more.", was=(OfferState.WAITING,)
    ):
        return
    if not needed or not settle(work, found.id, state, why, was=(OfferState.WAITING,)):
        # Somebody answered since it was read, perhaps with the opposite.
        now = work.session.get_one(OfferRow, found.id, populate_existing=True).state
        if problem := answer_problem(now, state):
            raise Conflict(problem)
        return
    if state is OfferState.ACCEPTED:
        agreed(work, found.request)
        tell_it_is_accepted(work, found.id)
    else:
        ask_the_next(work, found.request, None)
