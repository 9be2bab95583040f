"""The gate itself: every act that brings something made here nearer to a limb asks `require` first."""

from __future__ import annotations

from collections.abc import Sequence
from datetime import date, timedelta

import sqlalchemy as sa

from service.access.work import Work
from service.builds.keeping import needed
from service.builds.rules import BuildState, move_problem, unfinished
from service.builds.tables import BuildRow
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
    elif to in {BuildState.MAKING, BuildState.MADE}:
        items = needed(work, row)
        if not items:
            bars.append(Bar("unfinished", "Nothing is chosen to be made.", "Choose the version and its scale."))
        elif to is BuildState.MADE:
            bars += [Bar("unfinished", each, "Finish it.") for each in unfinished(items)]
    elif to is BuildState.WORN and not looked_after(work, row):
        said = "Nobody has looked how the first days of wearing went, once they were over."
        bars.append(Bar("wear_in", said, "A follow-up check that passes."))
    if bars:
        raise Blocked(_said(to, bars), tuple(bars))


def fitted_on(work: Work, row: BuildRow) -> date | None:
    """The day it was fitted, as the check of that fitting says; None while it was not."""
    fitting = sa.select(CheckRow.checked_on).where(
        CheckRow.build_id == row.id,
        CheckRow.kind == CheckKind.FITTING,
        CheckRow.round == row.round,
        CheckRow.passed.is_(True),
    )
    return work.session.scalar(fitting.order_by(CheckRow.id.desc()).limit(1))


def case_number_of(work: Work, row: BuildRow) -> str:
    """The case that a build is for."""
    found = sa.select(RecipientRow.case_number).where(RecipientRow.id == row.recipient_id)
    return work.session.scalars(found).one()


def looked_after(work: Work, row: BuildRow) -> bool:
    """Whether somebody found all in order once the first days of wearing were over."""
    fitted = fitted_on(work, row)
    if fitted is None:
        return False
    passed = sa.exists().where(
        CheckRow.build_id == row.id,
        CheckRow.kind == CheckKind.FOLLOW_UP,
        CheckRow.passed.is_(True),
        CheckRow.checked_on >= fitted + timedelta(days=WEAR_IN_DAYS),
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
