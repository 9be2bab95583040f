"""Moving builds on, signing checks, accepting in writing, recording what trustees decided. Each act is in the audit."""

from __future__ import annotations

from datetime import date
from typing import Any

import sqlalchemy as sa
from sqlalchemy.exc import IntegrityError

from service.access.permissions import May
from service.access.usecase import usecase
from service.access.work import Work
from service.accounts.tables import SiteRow
from service.audit.actions import note
from service.builds.keeping import check_reason, move, own, own_to_make
from service.builds.queries import build
from service.builds.rules import MOVES, UNDER_WAY, BuildState
from service.builds.schemas import BuildView
from service.builds.scope import makers
from service.builds.tables import BuildRow
from service.gate.blocks import ACCEPTED_IN_WRITING, LIFTS, BlockCode, Stage, stopping
from service.gate.checklists import LIMITS, SKIN, CheckKind, Result
from service.gate.gathering import limits_of
from service.gate.keeping import blocks_of, case_number_of, fitted_on, looked_after, next_of, require
from service.gate.queries import gate
from service.gate.rows import check_views, rule_view
from service.gate.schemas import (
    Accept,
    CheckView,
    EndRule,
    GateView,
    LimitView,
    MoveBuild,
    RecordRule,
    RuleView,
    SetLimit,
    SignCheck,
)
from service.gate.signing import failed_words, need_signs, write_check
from service.gate.tables import AcceptanceRow, CheckLimitRow, CheckRow, SiteRuleRow
from service.kit.errors import Bar, Blocked, Conflict, Invalid, NotFound
from service.safety.actions import report_incident, report_skin
from service.safety.rules import IncidentKind, SkinLimits
from service.safety.schemas import ReportIncident, ReportSkin

_ELSEWHERE = {
    BuildState.DELIVERED: "Say to whom it was given, and when: record the delivery.",
    BuildState.FITTED: "Record the fitting with its checks.",
}


@usecase(May.MAKE_BUILDS)
def move_build(work: Work, build_id: int, command: MoveBuild) -> BuildView:
    """Move a build on; to the state it is in already, nothing is done.

    Raises Blocked with everything that stands in the way. What is delivered or fitted is recorded as such.
    """
    row = own_to_make(work, build_id)
    if row.state is command.to:
        return build(work, build_id)
    if command.to in {BuildState.SENT_BACK, BuildState.DROPPED} and command.to in MOVES[row.state]:
        check_reason(command.to, command.why)
        move(work, row, command.to, command.why)
        return build(work, build_id)
    require(work, row, command.to)
    if command.to in _ELSEWHERE:
        raise Invalid.at("to", _ELSEWHERE[command.to])
    move(work, row, command.to, command.why)
    return build(work, build_id)


@usecase(May.SEE_BUILDS)
def refuse_blocked(work: Work, build_id: int, to: BuildState | None) -> None:
    """Raise Blocked for a move that is, before anybody reads what else was sent; nothing for one that may be made.

    `to` None: what was sent could not be read, so the next step of the build is meant.
    """
    row = own(work, build_id)
    wanted = to or next_of(row)
    if wanted is not row.state and wanted not in {BuildState.SENT_BACK, BuildState.DROPPED}:
        require(work, row, wanted)


@usecase(May.SIGN_CHECKS)
def sign_check(work: Work, build_id: int, command: SignCheck, skin: SkinLimits) -> CheckView:
    """Sign a check with all that it asks for; `skin` says what is made of signs on the skin.

    A bench check that passes clears the build if nothing else stands in the way; one that fails sends it back. Raises
    Blocked for a bench check by who made it, Conflict for a build that is not there to be checked, and Invalid for
    findings that are missing, not asked for, or do not agree with a limit.
    """
    row = own(work, build_id)
    if command.kind is CheckKind.BENCH:
        _may_check(work, row)
    elif command.kind is CheckKind.FITTING:
        raise Invalid.at("kind", "A fitting is recorded with what came off and what was put on: record the fitting.")
    elif row.state not in {BuildState.FITTED, BuildState.WORN}:
        raise Conflict(f"This build is {row.state.label}. How it is worn is looked at once it was fitted.")
    _check_day(work, row, command)
    need_signs(command.findings, command.signs)
    check = write_check(work, row, command)
    if command.kind is CheckKind.BENCH:
        _follow(work, row, check, command)
    else:
        _after_follow_up(work, row, check, command, skin)
    work.session.flush()  # the view reads what was just written
    return next(each for each in check_views(work, row.id) if each.id == check.id)


@usecase(May.ACCEPT_IN_WRITING)
def accept(work: Work, build_id: int, command: Accept) -> GateView:
    """Accept one block of a build, in writing, as a clinician.

    Raises Conflict for a block that stands not, is accepted already, or is not lifted so.
    """
    row = own(work, build_id)
    if command.code not in ACCEPTED_IN_WRITING:
        raise Conflict(f"Nobody lifts this in writing. What does: {LIFTS[command.code].lifted_by}")
    if row.state not in UNDER_WAY:
        raise Conflict(f"This build is {row.state.label}. There is nothing to accept.")
    about = [each.why for each in blocks_of(work, row) if each.code is command.code]
    if not about:
        raise Conflict("Nothing of that kind stands in its way. Look at what does.")
    work.session.add(
        AcceptanceRow(
            build_id=row.id,
            code=command.code,
            about=about,
            words=command.words,
            accepted_at=work.now,
            accepted_by=work.actor.name,
        )
    )
    said = {"code": [None, command.code.value], "words": [None, command.words]}
    note(work, "accepted", "build", subject_id=row.id, recipient_id=row.recipient_id, changes=said)
    work.session.flush()  # the view reads what was just written
    return gate(work, build_id)


@usecase(May.KEEP_RULES)
def record_rule(work: Work, command: RecordRule) -> RuleView:
    """Record what the trustees of a site decided, with a name under it; raises Conflict while one like it stands."""
    site = _site(work, command.site)
    if command.decided_on > work.today:
        raise Invalid.at("decided_on", "This day is still to come. Record it once it is decided.")
    given = command.model_dump(include={"rule", "words", "trustee", "decided_on"})
    row = SiteRuleRow(site_id=site.id, recorded_at=work.now, recorded_by=work.actor.name, **given)
    try:
        with work.session.begin_nested():
            work.session.add(row)
            work.session.flush()
    except IntegrityError:
        raise Conflict(f"This site has recorded a {command.rule.label} already. End that one first.") from None
    note(work, "recorded", "site rule", subject_id=row.id, changes={"words": [None, command.words]})
    return rule_view(row, site.code)


@usecase(May.KEEP_RULES)
def end_rule(work: Work, rule_id: int, command: EndRule) -> RuleView:
    """End a rule; raises NotFound for one of another site, Conflict for one that ended, Invalid for a day to come."""
    mine = sa.select(SiteRuleRow, SiteRow.code).join(SiteRow, SiteRow.id == SiteRuleRow.site_id)
    mine = mine.where(SiteRuleRow.id == rule_id, SiteRuleRow.site_id.in_(work.actor.sites))
    found = work.session.execute(mine.with_for_update(of=SiteRuleRow)).one_or_none()
    if found is None:
        raise NotFound("There is no such rule at your sites.")
    row: SiteRuleRow = found[0]
    if row.ended_on is not None:
        raise Conflict("This rule has ended already.")
    on: date = command.on or work.today
    if not row.decided_on <= on <= work.today:
        raise Invalid.at("on", "Give a day from when it was decided until today.")
    row.ended_on, row.ended_by = on, work.actor.name
    note(work, "ended", "site rule", subject_id=row.id)
    work.session.flush()  # the view reads what was just written
    return rule_view(row, found[1])


@usecase(May.KEEP_RULES)
def set_limit(work: Work, command: SetLimit) -> LimitView:
    """Set a site's own limit of a measured finding; raises Invalid for what is not measured."""
    site = _site(work, command.site)
    if command.item not in LIMITS:
        raise Invalid.at("item", f"Only these are measured: {', '.join(LIMITS)}.")
    before = limits_of(work, site.id)[command.item]
    row = work.session.get(CheckLimitRow, (site.id, command.item), with_for_update=True)
    if row is None:
        row = CheckLimitRow(site_id=site.id, item=command.item)
        work.session.add(row)
    row.value, row.source, row.set_at, row.set_by = command.value, command.source, work.now, work.actor.name
    changes = {"value": [before.value, command.value], "source": [before.source, command.source]}
    note(work, "set", "check limit", subject_id=site.id, changes=changes)
    work.session.flush()  # what is read next finds it set
    now = limits_of(work, site.id)[command.item]
    given: dict[str, Any] = {"item": command.item, "unit": now.unit, "at_least": now.at_least, "words": now.words}
    return LimitView(value=now.value, source=now.source, **given)


def _check_day(work: Work, row: BuildRow, command: SignCheck) -> None:
    """Raises Invalid for a check signed for a day on which there was nothing to look at yet."""
    earliest = (fitted_on(work, row) if command.kind is CheckKind.FOLLOW_UP else None) or row.opened_at.date()
    if command.on is not None and command.on < earliest:
        raise Invalid.at("on", f"It cannot have been before {earliest.isoformat()}. Check the day.")


def _may_check(work: Work, row: BuildRow) -> None:
    if row.state is not BuildState.MADE:
        raise Conflict(
            f"This build is {row.state.label}. Its bench check is signed once it is made, and before it goes."
        )
    if work.actor.account_id in makers(work, row):
        lift = LIFTS[BlockCode.BENCH_CHECK]
        said = "You made this, or logged a print of it, so somebody else signs its bench check."
        raise Blocked(said, (Bar(BlockCode.BENCH_CHECK.value, said, lift.lifted_by),))


def _follow(work: Work, row: BuildRow, check: CheckRow, command: SignCheck) -> None:
    """What a bench check does to its build: sent back with the finding, or cleared if nothing else is in the way."""
    if not check.passed:
        move(work, row, BuildState.SENT_BACK, failed_words(command))
    elif not stopping(blocks_of(work, row, held=True), Stage.CLEAR):
        move(work, row, BuildState.CLEARED)


def _after_follow_up(work: Work, row: BuildRow, check: CheckRow, command: SignCheck, skin: SkinLimits) -> None:
    """What is found in wearing goes where the family's own reports go; a week that went well makes it worn."""
    number = case_number_of(work, row)
    if command.signs:
        seen = ReportSkin(signs=list(command.signs), device=row.device_id, words=command.remarks)
        report_skin(work, number, seen, skin)
    if any(each.result is Result.FAIL and each.item != SKIN for each in command.findings):
        words = failed_words(command)
        what = ReportIncident(kind=IncidentKind.MALFUNCTION, words=words, device=row.device_id)
        report_incident(work, number, what)
    if check.passed and row.state is BuildState.FITTED and looked_after(work, row):
        move(work, row, BuildState.WORN)


def _site(work: Work, code: str) -> SiteRow:
    mine = sa.select(SiteRow).where(SiteRow.code == code, SiteRow.id.in_(work.actor.sites))
    found = work.session.scalars(mine).one_or_none()
    if found is None:
        raise Invalid.at("site", "There is no site with this code among yours.")
    return found
