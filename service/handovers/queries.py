"""How far builds are on their way to a limb, and the days on which somebody asks how it goes."""

from __future__ import annotations

from datetime import timedelta

import sqlalchemy as sa

from service.access.permissions import May
from service.access.usecase import usecase
from service.access.work import Work
from service.assembly.queries import parts_in_place
from service.builds.tables import BuildItemRow, BuildPartRow
from service.devices.queries import device
from service.gate.checklists import CheckKind
from service.gate.rows import seen
from service.gate.tables import CheckRow
from service.handovers.origins import origins
from service.handovers.passport import Passport, limit_words, part_of, statement_of
from service.handovers.rules import follow_up_words
from service.handovers.schemas import DeliveryView, FittingView, FollowUpView, HandOverView
from service.handovers.tables import DeliveryRow, FittingRow, FollowUpRow
from service.recipients.queries import recipient
from service.recipients.scope import visible
from service.recipients.tables import RecipientRow


@usecase(May.SEE_BUILDS)
def hand_over(work: Work, build_id: int) -> HandOverView:
    """How far a build is on its way to the limb; raises NotFound."""
    row = seen(work, build_id)
    delivery = work.session.scalars(
        sa.select(DeliveryRow).where(DeliveryRow.build_id == row.id).order_by(DeliveryRow.round.desc())
    ).first()
    fitting = work.session.scalars(
        sa.select(FittingRow).where(FittingRow.build_id == row.id).order_by(FittingRow.round.desc())
    ).first()
    parts = sa.select(BuildPartRow.part_id).join(BuildItemRow, BuildItemRow.id == BuildPartRow.item_id)
    return HandOverView(
        build=row.id,
        state=row.state.value,
        device=row.device_id,
        delivered=DeliveryView(on=delivery.on, to=delivery.to, by_post=delivery.by_post, logged_by=delivery.logged_by)
        if delivery
        else None,
        fitting=_fitting(fitting) if fitting else None,
        parts=list(work.session.scalars(parts.where(BuildItemRow.build_id == row.id).order_by(BuildPartRow.part_id))),
    )


@usecase(May.SEE_CASES)
def follow_ups(work: Work, within_days: int = 14) -> list[FollowUpView]:
    """The follow-ups of the cases the actor may see that are due by then and not done, the longest due first."""
    until = work.today + timedelta(days=within_days)
    looked = sa.exists().where(
        CheckRow.build_id == FollowUpRow.build_id,
        CheckRow.kind == CheckKind.FOLLOW_UP,
        CheckRow.checked_on >= FollowUpRow.counts_from,
    )
    rows = work.session.execute(
        sa.select(FollowUpRow, RecipientRow.case_number, RecipientRow.given_name)
        .join(RecipientRow, RecipientRow.id == FollowUpRow.recipient_id)
        .where(FollowUpRow.due_on <= until, ~looked, visible(work.actor, work.today))
        .order_by(FollowUpRow.due_on, FollowUpRow.id)
    )
    return [
        FollowUpView(
            id=row.id,
            build=row.build_id,
            case_number=number,
            given_name=name,
            device=row.device_id,
            name=row.name,
            words=follow_up_words(row.name),
            due_on=row.due_on,
            late=row.due_on < work.today,
        )
        for row, number, name in rows
    ]


@usecase(May.SEE_CASES)
def passport(work: Work, case_number: str, device_id: int, *, maker: str) -> Passport:
    """What the passport of a device says today, made by `maker` at the site of the case; raises NotFound."""
    person, worn = recipient(work, case_number), device(work, case_number, device_id)
    parts = next(each.parts for each in parts_in_place(work, case_number).items if each.device == device_id)
    made = origins(work, {each.part for each in parts if each.part is not None})
    ends_at = {each.side: each.level for each in person.limbs}.get(worn.side)
    return Passport(
        device=worn.id,
        given_name=person.given_name,
        case_number=person.case_number,
        purpose=worn.purpose,
        side=worn.side,
        stopped_on=worn.stopped_on,
        parts=[part_of(each, made.get(each.part or 0)) for each in parts],
        limits=[limit_words(each, ends_at) for each in worn.socket.limits] if worn.socket else [],
        socks=worn.socket.socks_at_fitting if worn.socket else [],
        site=person.site_name,
        statement=statement_of(person, worn, [each.called for each in parts], f"{maker}, {person.site_name}"),
    )


def _fitting(row: FittingRow) -> FittingView:
    return FittingView(
        put_on_at=row.put_on_at,
        look_at=row.look_at,
        fitted_on=row.fitted_on,
        done_by=row.done_by,
        by_family=row.by_family,
        on_the_phone=row.on_the_phone,
        guardian_present=row.guardian_present,
        cautions_acknowledged_by=row.cautions_acknowledged_by,
    )
