"""What was made and what stood in its way: builds, prints, checks, hand-overs, trustees' rules and safety notices."""

from __future__ import annotations

from datetime import timedelta

import sqlalchemy as sa

from service.access.actor import SYSTEM
from service.access.work import Work
from service.assembly.tables import PlaceRow
from service.builds import actions as builds
from service.builds.queries import build as build_as_it_stands
from service.builds.rules import BuildState
from service.builds.schemas import LogPrint, OpenBuild, UseLots
from service.builds.tables import BuildRow
from service.demo.telling import Act, Case, Event, Told
from service.gate import actions as gate
from service.gate.checklists import CheckKind, Result
from service.gate.queries import checks as checks_of
from service.gate.schemas import Accept, AskedView, MoveBuild, RecordRule, SetLimit, SignCheck
from service.handovers import actions as handovers
from service.handovers.schemas import DeliverBuild, FitBuild
from service.matching.rules import OfferState
from service.matching.tables import OfferRow
from service.notices import actions as notices
from service.notices.schemas import AnswerNotice, CloseNotice, OpenNotice
from service.safety.rules import SkinLimits

_PHONE = "01632 960 140"
"""Where families ring about a safety notice; kept free of subscribers for use in fiction."""

_AWAY_FROM_LIMIT = 1.2
"""What is measured on a bench in order is so many times better than the limit asks."""


def _build(told: Told, work: Work, case: Case, words: Event) -> None:
    """Open a build for a request, by hand or, without `who`, for the offer that was accepted, as its job would."""
    key, who = words.pop("key"), words.pop("who", None)
    request = case.requests[key]
    if who is None:
        agreed = (OfferRow.request_id == request, OfferRow.state == OfferState.ACCEPTED)
        offer = work.session.scalars(sa.select(OfferRow.id).where(*agreed)).one()
        builds.open_for_offer(Work(work.session, SYSTEM, work.now), offer)
        answers = (BuildRow.request_id == request, BuildRow.state != BuildState.DROPPED)
        case.builds[key] = work.session.scalars(sa.select(BuildRow.id).where(*answers)).one()
        return
    items = [_item(told, case, each) for each in words["items"]] if "items" in words else None
    given = {"request": request, "volunteer": told.volunteers[who], "printer": told.printers.get(who), "items": items}
    case.builds[key] = builds.open_build(work, OpenBuild.model_validate(words | given)).id


def _item(told: Told, case: Case, words: Event) -> Event:
    item = dict(words)
    if "version" in item:
        item["version"] = told.versions[item["version"]]
    if "socket" in item:
        item["version"] = case.versions[item.pop("socket")]
    if "instead_of" in item:
        item["place"] = case.places[tuple(item.pop("instead_of"))]
    return item


def _items(work: Work, build: int) -> list[int]:
    return [each.id for each in build_as_it_stands(work, build).items]


def _build_moved(_: Told, work: Work, case: Case, words: Event) -> None:
    gate.move_build(work, case.builds[words.pop("key")], MoveBuild.model_validate(words))


def _printed(told: Told, work: Work, case: Case, words: Event) -> None:
    """A go at an item of a build, the first unless `item` says which."""
    build = case.builds[words.pop("key")]
    item = _items(work, build)[words.pop("item", 0)]
    lots = [{"lot": told.lots[words.pop("lot")].id, "amount": words.get("grams")}]
    builds.log_print(work, build, LogPrint.model_validate(words | {"item": item, "lots": lots}))


def _lots_used(told: Told, work: Work, case: Case, words: Event) -> None:
    build = case.builds[words["key"]]
    item = _items(work, build)[words.get("item", 0)]
    lots = [{"lot": told.lots[words["lot"]].id, "amount": words.get("amount")}]
    builds.use_lots(work, build, UseLots.model_validate({"item": item, "lots": lots}))


def _checked(_: Told, work: Work, case: Case, words: Event) -> None:
    """Sign a check in which everything that is asked for is in order but what `fails`, and does not apply `because`."""
    build, kind = case.builds[words.pop("key")], CheckKind(words.pop("kind"))
    fails, because = words.pop("fails", {}), words.pop("because", {})
    findings = [_found(each, fails, because) for each in checks_of(work, build).asked[kind]]
    gate.sign_check(work, build, SignCheck.model_validate(words | {"kind": kind, "findings": findings}), SkinLimits())


def _found(asked: AskedView, fails: Event, because: Event) -> Event:
    if asked.item in fails:
        return {"item": asked.item, "result": Result.FAIL, "why": fails[asked.item]}
    if asked.item in because:
        return {"item": asked.item, "result": Result.NOT_APPLICABLE, "why": because[asked.item]}
    found: Event = {"item": asked.item, "result": Result.PASS}
    if asked.limit is not None:
        better = _AWAY_FROM_LIMIT if asked.limit.at_least else 1 / _AWAY_FROM_LIMIT
        found["value"] = round(asked.limit.value * better, 1)
    return found


def _accepted_in_writing(_: Told, work: Work, case: Case, words: Event) -> None:
    gate.accept(work, case.builds[words.pop("key")], Accept.model_validate(words))


def _delivered(_: Told, work: Work, case: Case, words: Event) -> None:
    handovers.deliver(work, case.builds[words.pop("key")], DeliverBuild.model_validate(words))


def _fitted(_: Told, work: Work, case: Case, words: Event) -> None:
    """A fitting, in order but what `fails`; `off` says why what was in a slot of a device came off.

    What was put on is known by those slots from then on, in the same order.
    """
    build, device, off = case.builds[words.pop("key")], words.pop("device"), words.pop("off", {})
    fails: list[str] = words.pop("fails", [])
    checks: Event = dict.fromkeys(("on_and_off", "gaping", "movement", "skin"), Result.PASS)
    checks |= dict.fromkeys(fails, Result.FAIL) | {"worn_minutes": 20, "words": words.pop("words", "")}
    came_off = [{"part": _part_in(work, case.places[device, slot]), "why": why} for slot, why in off.items()]
    command = FitBuild.model_validate(words | {"checks": checks, "came_off": came_off})
    made = handovers.fit(work, build, command, SkinLimits())
    for slot, part in zip(off, made.parts, strict=False):
        standing = sa.select(PlaceRow.id).where(PlaceRow.part_id == part, PlaceRow.until.is_(None))
        case.places[device, slot] = work.session.scalars(standing).one()


def _part_in(work: Work, place: int) -> int:
    return work.session.get_one(PlaceRow, place).part_id


def _rule(_: Told, work: Work, __: Case, words: Event) -> None:
    gate.record_rule(work, RecordRule.model_validate(words | {"decided_on": work.today}))


def _check_limit(_: Told, work: Work, __: Case, words: Event) -> None:
    gate.set_limit(work, SetLimit.model_validate(words))


def _notice(told: Told, work: Work, _: Case, words: Event) -> None:
    """Open a notice on a version, a lot, or on what came off the printer `of` somebody between two days."""
    key = words.pop("key")
    if "version" in words:
        words["version"] = told.versions[words["version"]]
    if "lot_of" in words:
        words["lot"] = told.lots[words.pop("lot_of")].id
    if "of" in words:
        words["printer"] = told.printers[words.pop("of")]
        words |= {f"{name}_on": work.today + timedelta(days=words.pop(f"{name}_in")) for name in ("from", "until")}
    told.notices[key] = notices.open_notice(work, OpenNotice.model_validate(words), _PHONE).id


def _notice_answered(told: Told, work: Work, case: Case, words: Event) -> None:
    notice = told.notices[words.pop("key")]
    notices.answer(work, notice, AnswerNotice.model_validate(words | {"case_number": case.number}))


def _notice_closed(told: Told, work: Work, _: Case, words: Event) -> None:
    notices.close_notice(work, told.notices[words["key"]], CloseNotice(outcome=words["outcome"]))


ACTS: dict[str, Act] = {
    "build": _build,
    "build_moved": _build_moved,
    "printed": _printed,
    "lots_used": _lots_used,
    "checked": _checked,
    "accepted_in_writing": _accepted_in_writing,
    "delivered": _delivered,
    "fitted": _fitted,
    "rule": _rule,
    "check_limit": _check_limit,
    "notice": _notice,
    "notice_answered": _notice_answered,
    "notice_closed": _notice_closed,
}
