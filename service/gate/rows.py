"""What the gate says of builds as it is answered, for every use case of this room. Part of another act."""

from __future__ import annotations

from collections import defaultdict

import sqlalchemy as sa

from service.access.work import Work
from service.builds.scope import visible_builds
from service.builds.tables import BuildRow
from service.gate.blocks import Block
from service.gate.checklists import Asked, CheckKind, asked_for
from service.gate.gathering import facts_of, limits_of, needs_of
from service.gate.keeping import stage_words
from service.gate.schemas import (
    AskedView,
    BlockView,
    CheckView,
    FindingView,
    LimitView,
    RuleView,
)
from service.gate.tables import CheckRow, FindingRow, SiteRuleRow
from service.kit.errors import NotFound


def rule_view(row: SiteRuleRow, site: str) -> RuleView:
    """A rule with its site's code."""
    return RuleView(
        id=row.id,
        site=site,
        rule=row.rule,
        words=row.words,
        trustee=row.trustee,
        decided_on=row.decided_on,
        recorded_by=row.recorded_by,
        ended_on=row.ended_on,
    )


def seen(work: Work, build_id: int) -> BuildRow:
    """A build the actor may see, unlocked; raises NotFound. Part of another act, which was permitted."""
    found = work.session.scalars(sa.select(BuildRow).where(BuildRow.id == build_id, visible_builds(work))).one_or_none()
    if found is None:
        raise NotFound("There is no build with this number among those you may see.")
    return found


def asked_views(work: Work, row: BuildRow, kind: CheckKind) -> list[AskedView]:
    """What a check of a kind asks for, as a build is now."""
    return [_asked(each) for each in asked_of(work, row, kind)]


def asked_of(work: Work, row: BuildRow, kind: CheckKind) -> list[Asked]:
    """The same for those who judge findings."""
    return asked_for(kind, facts_of(work, row), needs_of(work, row), limits_of(work, row.site_id))


def check_views(work: Work, build_id: int) -> list[CheckView]:
    """The checks of a build, oldest first."""
    rows = work.session.scalars(sa.select(CheckRow).where(CheckRow.build_id == build_id).order_by(CheckRow.id)).all()
    found: defaultdict[int, list[FindingView]] = defaultdict(list)
    findings = sa.select(FindingRow).where(FindingRow.check_id.in_([row.id for row in rows]))
    for each in work.session.scalars(findings):
        found[each.check_id].append(
            FindingView(item=each.item, result=each.result, value=each.value, limit=each.limit_words, why=each.why)
        )
    return [
        CheckView(
            id=row.id,
            kind=row.kind,
            round=row.round,
            passed=row.passed,
            on=row.checked_on,
            signed_at=row.signed_at,
            signed_by=row.signed_by,
            remarks=row.remarks,
            findings=found[row.id],
        )
        for row in rows
    ]


def block_view(each: Block) -> BlockView:
    """A block as it is answered."""
    return BlockView(code=each.code, why=each.why, lifted_by=each.lifted_by, stops=stage_words(each.stops))


def _asked(each: Asked) -> AskedView:
    limit = each.limit
    return AskedView(
        item=each.item,
        label=each.label,
        asks=each.asks,
        because=each.because,
        may_not_apply=each.may_not_apply,
        limit=LimitView(
            item=each.item,
            value=limit.value,
            unit=limit.unit,
            at_least=limit.at_least,
            words=limit.words,
            source=limit.source,
        )
        if limit
        else None,
    )
