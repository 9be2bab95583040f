"""Reading links and what families said, for those who keep the case."""

from __future__ import annotations

import sqlalchemy as sa

from service.access.permissions import May
from service.access.usecase import usecase
from service.access.work import Work
from service.builds.tables import BuildRow
from service.family.rules import HOW_FAR, is_open
from service.family.schemas import LinkView, SaidView
from service.family.tables import LinkRow, SaidRow
from service.recipients.queries import seen_recipient
from service.recipients.tables import ContactRow, RecipientRow
from service.volunteers.tables import StockRow, VolunteerRow


@usecase(May.KEEP_FAMILY_LINKS)
def links(work: Work, case_number: str) -> list[LinkView]:
    """The links of a recipient, the newest first; raises NotFound for a case not theirs to see."""
    person = seen_recipient(work, case_number)
    rows = work.session.execute(
        sa.select(LinkRow.__table__, ContactRow.name.label("contact"))
        .outerjoin(ContactRow, ContactRow.id == LinkRow.contact_id)
        .where(LinkRow.recipient_id == person.id)
        .order_by(LinkRow.id.desc())
    ).mappings()
    return [
        LinkView.model_validate({**row, "is_open": is_open(row["ends_at"], row["revoked_at"], work.now)})
        for row in rows
    ]


@usecase(May.SPEAK_AS_FAMILY)
def colours(work: Work) -> list[str]:
    """The colours that somebody of the family's site has on hand; which it is made in is for whoever makes it."""
    here = sa.select(RecipientRow.site_id).where(RecipientRow.id == work.actor.recipient_id).scalar_subquery()
    on_hand = (
        sa.select(StockRow.colour)
        .join(VolunteerRow, VolunteerRow.id == StockRow.volunteer_id)
        .where(VolunteerRow.site_id == here, VolunteerRow.left_on.is_(None))
        .where(StockRow.gone_on.is_(None), StockRow.colour != "")
    )
    return sorted({colour.strip().lower() for colour in work.session.scalars(on_hand)})


@usecase(May.SPEAK_AS_FAMILY)
def how_far(work: Work) -> dict[int, str]:
    """How far what the family asked for is, in a sentence, by request."""
    mine = sa.select(BuildRow.request_id, BuildRow.state).where(
        BuildRow.recipient_id == work.actor.recipient_id, BuildRow.state.in_(HOW_FAR)
    )
    return {row.request_id: HOW_FAR[row.state] for row in work.session.execute(mine)}


@usecase(May.KEEP_FAMILY_LINKS)
def said(work: Work, case_number: str) -> list[SaidView]:
    """What the family of a recipient said that is no request, the newest first."""
    person = seen_recipient(work, case_number)
    rows = work.session.execute(
        sa.select(SaidRow.__table__).where(SaidRow.recipient_id == person.id).order_by(SaidRow.id.desc())
    ).mappings()
    return [SaidView.model_validate({**row}) for row in rows]
