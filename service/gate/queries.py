"""What the gate says of builds, and what a site recorded, narrowed to what the actor may see."""

from __future__ import annotations

import sqlalchemy as sa

from service.access.permissions import May
from service.access.usecase import usecase
from service.access.work import Work
from service.accounts.tables import SiteRow
from service.builds.rules import MOVES
from service.builds.tables import BuildRow
from service.gate.blocks import LIFTS, STAGE_OF, stopping
from service.gate.cards import card_of
from service.gate.checklists import CheckKind
from service.gate.keeping import blocks_of, next_of, stage_words
from service.gate.rows import asked_views, block_view, check_views, rule_view, seen
from service.gate.schemas import (
    AcceptanceView,
    BlocksView,
    CardView,
    ChecksView,
    FirstTimeView,
    GateView,
    LiftView,
    RuleView,
)
from service.gate.tables import AcceptanceRow, CheckRow, SiteRuleRow
from service.matching.queries import history
from service.statistics import wilson


@usecase(May.SEE_BUILDS)
def blocks(work: Work, build_id: int) -> BlocksView:
    """What stands in the way of a build now, whichever move it stops; raises NotFound."""
    return BlocksView(items=[block_view(each) for each in blocks_of(work, seen(work, build_id))])


@usecase(May.SEE_BUILDS)
def checks(work: Work, build_id: int) -> ChecksView:
    """The checks of a build, and what each kind of check asks for as it is now; raises NotFound."""
    row = seen(work, build_id)
    return ChecksView(items=check_views(work, row.id), asked={kind: asked_views(work, row, kind) for kind in CheckKind})


@usecase(May.SEE_BUILDS)
def gate(work: Work, build_id: int) -> GateView:
    """All that the gate says of a build; raises NotFound."""
    row = seen(work, build_id)
    found, stage = blocks_of(work, row), STAGE_OF.get(next_of(row))
    accepted = work.session.scalars(
        sa.select(AcceptanceRow).where(AcceptanceRow.build_id == row.id).order_by(AcceptanceRow.id)
    )
    return GateView(
        build=row.id,
        state=row.state,
        blocks=[block_view(each) for each in found],
        now=[block_view(each) for each in stopping(found, stage)] if stage is not None else [],
        checks=check_views(work, row.id),
        acceptances=[
            AcceptanceView(code=each.code, words=each.words, accepted_at=each.accepted_at, accepted_by=each.accepted_by)
            for each in accepted
        ],
        moves=list(MOVES[row.state]),
    )


@usecase(May.SEE_BUILDS)
def job_card(work: Work, build_id: int) -> CardView:
    """What is on the bench beside a build, without a word of whom it is for; raises NotFound."""
    return card_of(work, seen(work, build_id))


@usecase(May.SEE_GATE)
def lifts(_work: Work) -> list[LiftView]:
    """The table of what blocks, and what alone lifts it."""
    return [
        LiftView(code=code, about=each.about, lifted_by=each.lifted_by, stops=stage_words(each.stops))
        for code, each in LIFTS.items()
    ]


@usecase(May.ANSWER_OFFERS)
def first_time(work: Work, volunteer_id: int) -> FirstTimeView:
    """How often what a volunteer made passed its first bench check; theirs to see as what they were asked is."""
    history(work, volunteer_id)  # raises NotFound for somebody else's
    first = (
        sa.select(sa.func.min(CheckRow.id))
        .join(BuildRow, BuildRow.id == CheckRow.build_id)
        .where(BuildRow.volunteer_id == volunteer_id, CheckRow.kind == CheckKind.BENCH)
        .group_by(CheckRow.build_id)
    )
    results = work.session.scalars(sa.select(CheckRow.passed).where(CheckRow.id.in_(first))).all()
    interval = wilson(sum(results), len(results))
    share = sum(results) / len(results) if results else 0.0
    return FirstTimeView(
        volunteer=volunteer_id,
        checked=len(results),
        passed=sum(results),
        passed_first=None if interval is None else (share, *interval),
    )


@usecase(May.SEE_RULES)
def rules(work: Work) -> list[RuleView]:
    """What the trustees of the actor's sites recorded, the newest first; ended ones too."""
    rows = work.session.execute(
        sa.select(SiteRuleRow, SiteRow.code)
        .join(SiteRow, SiteRow.id == SiteRuleRow.site_id)
        .where(SiteRuleRow.site_id.in_(work.actor.sites))
        .order_by(SiteRuleRow.id.desc())
    )
    return [rule_view(row, code) for row, code in rows]
