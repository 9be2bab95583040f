"""The gate itself: every act that brings something made here nearer to a limb goes through `pass_gate`."""

from __future__ import annotations

from collections.abc import Sequence
from datetime import date, timedelta

import sqlalchemy as sa

from service.access.work import Work
from service.builds.keeping import move, needed
from service.builds.rules import BuildState, move_problem, unfinished
from service.builds.tables import BuildMoveRow, BuildRow
from service.gate.blocks import STAGE_OF, Block, Stage, blocks, stopping
from service.gate.checklists import WEAR_IN_DAYS, CheckKind
from service.gate.gathering import facts_of
from service.gate.tables import CheckRow
from service.kit.errors import Bar, Blocked
from service.recipients.tables import RecipientRow

_ORDER = "Follow the order of a build; nothing skips a step."


def blocks_of(work: Work, row: BuildRow, *, held: bool = False) -> list[Block]:
    """Everything that stands in the way of a build now; `held` still for an act that leans on it."""
    return blocks(facts_of(work, row, held=held))


def require(work: Work, row: BuildRow, to: BuildState) -> None:
    """Raise Blocked, with every reason and what lifts each, unless a build may go to a state."""
    stage = STAGE_OF.get(to)
    found = stopping(blocks_of(work, row, held=True), stage) if stage is not None else []
    bars = [Bar(each.code.value, each.why, each.lifted_by) for each in found]
    if (problem := move_problem(row.state, to)) is not None:
        bars.append(Bar("order", problem, _ORDER))
    elif to is BuildState.MADE:
        bars += [Bar("unfinished", each, "Finish it.") for each in unfinished(needed(work, row))]
        if not needed(work, row):
            bars.append(Bar("unfinished", "Nothing is chosen to be made.", "Choose the version and its scale."))
    elif to is BuildState.WORN and not _looked_after(work, row):
        said = "Nobody has looked how the first days of wearing went."
        bars.append(Bar("wear_in", said, "A follow-up check that passes."))
    elif to is BuildState.MAKING and not needed(work, row):
        bars.append(Bar("unfinished", "Nothing is chosen to be made.", "Choose the version and its scale."))
    if bars:
        raise Blocked(_said(to, bars), tuple(bars))


def pass_gate(work: Work, row: BuildRow, to: BuildState, why: str = "") -> None:
    """Move a build on if nothing stands in the way; raises Blocked otherwise. The build is locked by the caller."""
    require(work, row, to)
    move(work, row, to, why)


def wear_in_over(work: Work, row: BuildRow) -> date:
    """The day on which the first days of wearing are over."""
    fitted = sa.select(BuildMoveRow.at).where(BuildMoveRow.build_id == row.id, BuildMoveRow.to == BuildState.FITTED)
    at = work.session.scalars(fitted.order_by(BuildMoveRow.id.desc())).first() or work.now
    return at.date() + timedelta(days=WEAR_IN_DAYS)


def case_number_of(work: Work, row: BuildRow) -> str:
    """The case that a build is for."""
    found = sa.select(RecipientRow.case_number).where(RecipientRow.id == row.recipient_id)
    return work.session.scalars(found).one()


def _looked_after(work: Work, row: BuildRow) -> bool:
    passed = sa.exists().where(
        CheckRow.build_id == row.id,
        CheckRow.kind == CheckKind.FOLLOW_UP,
        CheckRow.round == row.round,
        CheckRow.passed.is_(True),
    )
    return bool(work.session.scalar(sa.select(passed)))


def next_of(row: BuildRow) -> BuildState:
    """Where a build goes next if all is well: what a request that cannot be read is taken to be about."""
    return {
        BuildState.PLANNED: BuildState.MAKING,
        BuildState.SENT_BACK: BuildState.MAKING,
        BuildState.MAKING: BuildState.MADE,
        BuildState.MADE: BuildState.CLEARED,
        BuildState.CLEARED: BuildState.DELIVERED,
        BuildState.DELIVERED: BuildState.FITTED,
    }.get(row.state, BuildState.WORN)


def stage_words(stage: Stage) -> str:
    """The move that a block stops first, as a word for programs and people."""
    return {Stage.START: "start", Stage.CLEAR: "clear", Stage.DELIVER: "deliver", Stage.FIT: "fit"}[stage]


def _said(to: BuildState, bars: Sequence[Bar]) -> str:
    more = f" And {len(bars) - 1} more." if len(bars) > 1 else ""
    return f"It cannot be {_DONE.get(to, to.label)} yet. {bars[0].why}{more}"


_DONE = {BuildState.MAKING: "begun", BuildState.MADE: "made"}
