"""Writing checks down: what every act that signs one has in common."""

from __future__ import annotations

from collections.abc import Sequence
from typing import Any

from service.access.work import Work
from service.audit.actions import note
from service.builds.tables import BuildRow
from service.gate.checklists import SKIN, Found, Result, findings_problems, passed
from service.gate.rows import asked_of
from service.gate.schemas import (
    AddFinding,
    SignCheck,
)
from service.gate.tables import CheckRow, FindingRow
from service.kit.errors import FieldError, Invalid
from service.safety.rules import Sign


def write_check(work: Work, row: BuildRow, command: SignCheck) -> CheckRow:
    """Write a check with its findings; raises Invalid unless they are those asked for. Part of another act."""
    asked = asked_of(work, row, command.kind)
    found = [Found(each.item, each.result, each.value, each.why) for each in command.findings]
    on = command.on or work.today
    problems = findings_problems(asked, found)
    if on > work.today:
        problems.append(("on", "This day is still to come. Sign it once it is done."))
    if problems:
        fields = tuple(FieldError(*each) for each in problems)
        raise Invalid("Nothing was stored. The check is not whole yet.", fields=fields)
    check = CheckRow(
        build_id=row.id,
        kind=command.kind,
        round=row.round,
        passed=passed(found),
        remarks=command.remarks,
        checked_on=on,
        signed_at=work.now,
        signed_by=work.actor.name,
        by_account_id=work.actor.account_id,
    )
    work.session.add(check)
    work.session.flush()  # the id is needed below
    limits = {each.item: each.limit for each in asked}
    for each in found:
        limit = limits[each.item]
        words = f"{limit.words}: {limit.source}" if limit else ""
        given: dict[str, Any] = {"item": each.item, "result": each.result, "value": each.value, "why": each.why}
        work.session.add(FindingRow(check_id=check.id, limit_words=words, **given))
    changes = {"kind": [None, command.kind.value], "passed": [None, check.passed]}
    note(work, "signed", "check", subject_id=check.id, recipient_id=row.recipient_id, changes=changes)
    work.session.flush()  # what is read next finds it signed
    return check


def need_signs(findings: Sequence[AddFinding], signs: Sequence[Sign]) -> None:
    """Raises Invalid when the skin is not in order and nobody says what is seen, or is said to be while something is.

    What follows depends on what is seen.
    """
    skin = next((each for each in findings if each.item == SKIN), None)
    if skin is not None and skin.result is Result.FAIL and not signs:
        known = ", ".join(each.value for each in Sign if each is not Sign.RED_GONE)
        raise Invalid.at("signs", f"Say what is seen or felt on the skin: {known}.")
    if skin is not None and skin.result is not Result.FAIL and set(signs) - {Sign.RED_GONE}:
        raise Invalid.at("signs", "Something is ticked here, so the skin is not in order. Say so above, or untick it.")


def failed_words(found: SignCheck) -> str:
    """What did not pass, for whoever makes it."""
    failed = [each for each in found.findings if each.result is Result.FAIL]
    return "; ".join(f"{each.item.replace('_', ' ')}: {each.why}" for each in failed)
