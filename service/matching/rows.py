"""Offers and requests from the database into views, narrowed to what the actor may see."""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Sequence
from typing import Any

import sqlalchemy as sa

from service.access.permissions import Role
from service.access.work import Work
from service.accounts.tables import SiteRow
from service.kit.errors import NotFound
from service.matching.costing import Weights
from service.matching.gathering import pieces_of
from service.matching.rules import OfferState, shows_address
from service.matching.schemas import OfferView, PartAsked, WeightsView
from service.matching.tables import OfferRow, PlanRow, WeightsRow
from service.recipients.rules import Purpose, Responsibility
from service.recipients.tables import ConsentRow, ContactRow, RecipientRow
from service.requests.tables import RequestRow
from service.volunteers.rules import VettingKind
from service.volunteers.tables import VettingRow, VolunteerRow


def weights_of(work: Work, site_id: int) -> WeightsView:
    """A site's weights, or the usual ones."""
    kept = work.session.scalar(sa.select(WeightsRow.weights).where(WeightsRow.site_id == site_id))
    return WeightsView(**(kept or {}))


def as_weights(view: WeightsView) -> Weights:
    """The same for `costing`."""
    return Weights(**view.model_dump())


def site_of_request(work: Work, request_id: int) -> int:
    """The site of a request at one of the actor's sites; raises NotFound."""
    found = sa.select(RecipientRow.site_id).join(RequestRow, RequestRow.recipient_id == RecipientRow.id)
    site_id = work.session.scalar(found.where(RequestRow.id == request_id, _own(work)))
    if site_id is None:
        raise NotFound("There is no request with this number at your sites.")
    return site_id


def plan_row(work: Work, plan_id: int) -> tuple[PlanRow, str, str]:
    """A plan of one of the actor's sites, with the site's code and name; raises NotFound."""
    row = work.session.execute(
        sa.select(PlanRow, SiteRow.code, SiteRow.name)
        .join(SiteRow, SiteRow.id == PlanRow.site_id)
        .where(PlanRow.id == plan_id, PlanRow.site_id.in_(work.actor.sites))
    ).one_or_none()
    if row is None:
        raise NotFound("There is no plan with this number at your sites.")
    return row[0], row[1], row[2]


def own_offers(work: Work) -> sa.ColumnElement[bool]:
    """A coordinator sees the offers of their sites, a volunteer those made to them."""
    if Role.SYSTEM in work.actor.roles:
        return sa.true()
    if Role.COORDINATOR in work.actor.roles:
        return VolunteerRow.site_id.in_(work.actor.sites)
    return VolunteerRow.account_id == work.actor.account_id


def offer_views(
    work: Work, *conditions: sa.ColumnElement[bool], limit: int | None = None, by_link: bool = False
) -> list[OfferView]:
    """Offers that meet conditions, the newest first; by a link nobody is known, so no address is shown."""
    wanted = sa.select(OfferRow.__table__, *_BESIDE)
    wanted = (
        wanted.join(VolunteerRow, VolunteerRow.id == OfferRow.volunteer_id)
        .join(RequestRow, RequestRow.id == OfferRow.request_id)
        .join(RecipientRow, RecipientRow.id == RequestRow.recipient_id)
        .where(*conditions)
    )
    rows = work.session.execute(wanted.order_by(OfferRow.id.desc()).limit(limit)).all()
    agreed = _first_names(work, {row.recipient_id for row in rows})
    pieces = pieces_of(work, [row.request_id for row in rows])
    addresses = {} if by_link else _addresses(work, rows)
    return [
        OfferView.model_validate(
            {
                **row._mapping,
                "request": row.request_id,
                "volunteer": row.volunteer_id,
                "for_whom": row.given_name if row.recipient_id in agreed else "",
                "parts": [
                    PartAsked(
                        what=piece.what,
                        quantity=piece.quantity,
                        size_mm=piece.box,
                        material=" or ".join(sorted(piece.materials)),
                        colour=piece.colour,
                    )
                    for piece in pieces[row.request_id]
                ],
                "address": addresses.get(row.id),
            }
        )
        for row in rows
    ]


_BESIDE = (
    RequestRow.kind,
    RequestRow.colour,
    RequestRow.recipient_id,
    RequestRow.settled_at.label("request_settled_at"),
    RecipientRow.given_name,
    VolunteerRow.name.label("volunteer_name"),
    VolunteerRow.account_id,
)


def _first_names(work: Work, people: set[int]) -> set[int]:
    """Those whose family agreed that a volunteer hears the first name."""
    agreed = sa.select(ConsentRow.recipient_id).where(
        ConsentRow.recipient_id.in_(people),
        ConsentRow.purpose == Purpose.FIRST_NAME,
        ConsentRow.withdrawn_on.is_(None),
    )
    return set(work.session.scalars(agreed))


def _addresses(work: Work, rows: Sequence[Any]) -> dict[int, str]:
    """Where to bring it, for the volunteer alone who brings it, by offer; who sees one has opened the case."""
    mine = [row for row in rows if row.account_id is not None and row.account_id == work.actor.account_id]
    if not mine:
        return {}
    vetted = work.session.execute(
        sa.select(VettingRow.volunteer_id, sa.func.max(VettingRow.review_due_on))
        .where(
            VettingRow.volunteer_id.in_({row.volunteer_id for row in mine}),
            VettingRow.kind == VettingKind.HOME_VISITS,
            VettingRow.ended_on.is_(None),
        )
        .group_by(VettingRow.volunteer_id)
    )
    until = {row[0]: row[1] for row in vetted}
    shown = [
        row
        for row in mine
        if shows_address(
            accepted=row.state is OfferState.ACCEPTED,
            delivers=row.delivers,
            handed_over=row.request_settled_at is not None,
            vetted_until=until.get(row.volunteer_id),
            today=work.today,
        )
    ]
    where = _where_they_live(work, {row.recipient_id for row in shown})
    work.read.update(row.recipient_id for row in shown if where.get(row.recipient_id))
    return {row.id: where[row.recipient_id] for row in shown if where.get(row.recipient_id)}


def _where_they_live(work: Work, people: set[int]) -> dict[int, str]:
    rows = work.session.execute(
        sa.select(ContactRow.recipient_id, ContactRow.address, ContactRow.responsibility)
        .where(ContactRow.recipient_id.in_(people), ContactRow.ended_on.is_(None), ContactRow.address != "")
        .order_by(ContactRow.id)
    ).all()
    found: defaultdict[int, list[str]] = defaultdict(list)
    for row in sorted(rows, key=lambda each: each.responsibility is not Responsibility.YES):
        found[row.recipient_id].append(row.address)
    return {recipient_id: addresses[0] for recipient_id, addresses in found.items()}


def _own(work: Work) -> sa.ColumnElement[bool]:
    return sa.true() if Role.SYSTEM in work.actor.roles else RecipientRow.site_id.in_(work.actor.sites)
