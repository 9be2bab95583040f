"""What was asked for and what came of it: towns, volunteers, requests, plans and offers, families, safety."""

from __future__ import annotations

from datetime import timedelta
from typing import Any

import sqlalchemy as sa

from service.access.actor import SYSTEM, Actor
from service.access.permissions import Role
from service.access.work import Work
from service.accounts import actions as accounts
from service.accounts.schemas import AddTown, ChangeSite
from service.demo.telling import Act, Case, Event, Told
from service.family import actions as family
from service.family.schemas import MakeLink, Say
from service.family.tables import LinkRow
from service.kit.passwords import fingerprint
from service.matching import actions as matching
from service.matching.queries import propose
from service.matching.rules import OfferState
from service.matching.schemas import AcceptPlan, AnswerOffer, MakePlan
from service.matching.tables import OfferRow
from service.recipients.queries import recipient, seen_recipient
from service.requests import actions as requests
from service.requests.queries import request as request_as_it_stands
from service.requests.schemas import (
    AnswerQuestion,
    AskBack,
    AskRequest,
    BeginWait,
    DecideTriage,
    JoinRequests,
    MarkAnswered,
    Promise,
    Settle,
    SplitRequest,
)
from service.safety import actions as safety
from service.safety.rules import SkinLimits
from service.safety.schemas import CloseIncident, FinishReview, JudgeIncident, RaiseConcern, ReportIncident, ReportSkin
from service.volunteers import actions as volunteers
from service.volunteers.schemas import AddAbsence, AddPrinter, AddStock, AddTraining, AddVetting, AddVisit, AddVolunteer

FAMILY_KEY = "the-demo-family-comes-in-by-this-door"
"""What the one family link of the demo opens by, which is printed: the data are invented."""


def _town(told: Told, work: Work, _: Case, words: Event) -> None:
    site = words.pop("site")
    town = accounts.add_town(work, AddTown.model_validate(words))
    told.towns[town.name] = town.id
    if site not in told.sites:
        told.sites.add(site)
        accounts.change_site(Work(work.session, SYSTEM, work.now), site, ChangeSite(town=town.id))


def _volunteer(told: Told, work: Work, _: Case, words: Event) -> None:
    named = words | {"town": told.towns[words["town"]], "since": work.today}
    named["account"] = next((each.account_id for each in told.actors.values() if each.name == words["name"]), None)
    told.volunteers[words["name"]] = volunteers.add_volunteer(work, AddVolunteer.model_validate(named)).id


def _trained(told: Told, work: Work, _: Case, words: Event) -> None:
    who = told.volunteers[words.pop("who")]
    volunteers.add_training(work, who, AddTraining.model_validate(words | {"trained_on": work.today}))


def _printer(told: Told, work: Work, _: Case, words: Event) -> None:
    who = words.pop("who")
    view = volunteers.add_printer(work, told.volunteers[who], AddPrinter.model_validate(words))
    told.printers[who] = view.printer_list[-1].id


def _stock(told: Told, work: Work, _: Case, words: Event) -> None:
    volunteers.add_stock(work, told.volunteers[words.pop("who")], AddStock.model_validate(words))


def _away(told: Told, work: Work, _: Case, words: Event) -> None:
    who, first, last = (words.pop(name) for name in ("who", "from_in", "until_in"))
    days = {"since": work.today + timedelta(days=first), "until": work.today + timedelta(days=last)}
    volunteers.add_absence(work, told.volunteers[who], AddAbsence.model_validate(days))


def _vetted(told: Told, work: Work, _: Case, words: Event) -> None:
    who = told.volunteers[words.pop("who")]
    volunteers.add_vetting(work, who, AddVetting.model_validate(words | {"checked_on": work.today}))


def _visit(told: Told, work: Work, case: Case, words: Event) -> None:
    who = told.volunteers[words.pop("who")]
    volunteers.add_visit(work, who, AddVisit.model_validate(words | {"case_number": case.number}))


def _asked(_: Told, work: Work, case: Case, words: Event) -> None:
    key, asker = words.pop("key"), words.pop("as", None)
    parts = [
        {"place": case.places[tuple(each["slot"])], "happened": each["happened"]} for each in words.pop("parts", [])
    ]
    given = words | {"case_number": case.number, "parts": parts, "asker": asker}
    case.requests[key] = requests.ask(work, AskRequest.model_validate(given)).id


def _placed(_: Told, work: Work, case: Case, words: Event) -> None:
    requests.decide_triage(work, case.requests[words.pop("key")], DecideTriage.model_validate(words))


def _promised(_: Told, work: Work, case: Case, words: Event) -> None:
    on = work.today + timedelta(days=words["in_days"])
    requests.promise(work, case.requests[words["key"]], Promise(on=on))


def _asked_back(_: Told, work: Work, case: Case, words: Event) -> None:
    requests.ask_back(work, case.requests[words["key"]], AskBack(question=words["question"]))


def _replied(_: Told, work: Work, case: Case, words: Event) -> None:
    request = case.requests[words["key"]]
    question = request_as_it_stands(work, request).questions[-1].id
    requests.answer(work, request, question, AnswerQuestion(answer=words["answer"], answered_by=words["by_whom"]))


def _wait(_: Told, work: Work, case: Case, words: Event) -> None:
    requests.begin_wait(work, case.requests[words.pop("key")], BeginWait.model_validate(words))


def _split(_: Told, work: Work, case: Case, words: Event) -> None:
    request = case.requests[words["key"]]
    last = request_as_it_stands(work, request).parts[-1].id
    requests.split(work, request, SplitRequest(parts=[last]))


def _joined(_: Told, work: Work, case: Case, words: Event) -> None:
    requests.join(work, case.requests[words["key"]], JoinRequests(into=case.requests[words["into"]]))


def _answered(_: Told, work: Work, case: Case, words: Event) -> None:
    requests.mark_answered(work, case.requests[words["key"]], MarkAnswered(note=words["note"]))


def _closed(_: Told, work: Work, case: Case, words: Event) -> None:
    requests.close_request(work, case.requests[words["key"]], Settle(why=words["why"]))


def _plan(_: Told, work: Work, __: Case, words: Event) -> None:
    plan_site(work, words["site"], accept=words["accept"])


def plan_site(work: Work, site: str, *, accept: bool) -> None:
    """A plan for a site as of then, and the offers it proposes."""
    asked = MakePlan(site=site)
    made = matching.keep_plan(work, asked, propose(work, asked))
    if accept:
        matching.accept_plan(work, made.id, AcceptPlan())


def _offer(_: Told, work: Work, case: Case, words: Event) -> None:
    """Answer the offer that stands for a request; said by a coordinator whom the volunteer rang."""
    standing = (OfferRow.request_id == case.requests[words["key"]], OfferRow.state == OfferState.WAITING)
    offer = work.session.scalars(sa.select(OfferRow.id).where(*standing)).one()
    answer = matching.accept_offer if words["answer"] == "accept" else matching.decline_offer
    answer(work, offer, AnswerOffer(why=words.get("why", "")))


def _link(_: Told, work: Work, case: Case, words: Event) -> None:
    contacts = recipient(work, case.number).contacts
    contact = next(each.id for each in contacts if each.name == words["contact"])
    made = family.make_link(work, case.number, MakeLink(contact=contact, send=True), base_url="")
    if words["fixed"]:  # or nobody could print it: a link is told once, and only its hash is kept
        opens_by = sa.update(LinkRow).where(LinkRow.id == made.id).values(key_hash=fingerprint(FAMILY_KEY))
        work.session.execute(opens_by)


def _family_said(_: Told, work: Work, case: Case, words: Event) -> None:
    family.say(as_family(work, case), Say.model_validate(words))


def _skin(_: Told, work: Work, case: Case, words: Event) -> None:
    safety.report_skin(as_family(work, case), case.number, ReportSkin.model_validate(words), SkinLimits())


def _looked(_: Told, work: Work, case: Case, words: Event) -> None:
    safety.finish_review(work, _of_case(work, case, "review_tasks"), FinishReview.model_validate(words))


def _incident(_: Told, work: Work, case: Case, words: Event) -> None:
    words.pop("aware", None)
    safety.report_incident(work, case.number, ReportIncident.model_validate(words | {"aware_on": work.today}))


def _judged(_: Told, work: Work, case: Case, words: Event) -> None:
    safety.judge(work, _of_case(work, case, "incidents"), JudgeIncident.model_validate(words))


def _incident_closed(_: Told, work: Work, case: Case, words: Event) -> None:
    if "reported_in" in words:
        words["reported_on"] = work.today + timedelta(days=words.pop("reported_in"))
    safety.close_incident(work, _of_case(work, case, "incidents"), CloseIncident.model_validate(words))


def _concern(_: Told, work: Work, case: Case, words: Event) -> None:
    safety.raise_concern(as_family(work, case), RaiseConcern.model_validate(words))


def _of_case(work: Work, case: Case, table: str) -> int:
    """The newest row of a case."""
    rows = sa.table(table, sa.column("id"), sa.column("recipient_id"))
    newest = sa.select(sa.func.max(rows.c.id)).where(rows.c.recipient_id == seen_recipient(work, case.number).id)
    found: Any = work.session.scalar(newest)
    return int(found)


def as_family(work: Work, case: Case) -> Work:
    """The family of a case, as it acts behind its link."""
    contacts = recipient(work, case.number).contacts
    who = f"{contacts[0].name} (family)" if contacts else "the family"
    person = seen_recipient(work, case.number).id
    return Work(work.session, Actor(who, frozenset({Role.FAMILY}), recipient_id=person), work.now)


ACTS: dict[str, Act] = {
    "town": _town,
    "volunteer": _volunteer,
    "trained": _trained,
    "printer": _printer,
    "stock": _stock,
    "away": _away,
    "vetted": _vetted,
    "visit": _visit,
    "asked": _asked,
    "placed": _placed,
    "promised": _promised,
    "asked_back": _asked_back,
    "replied": _replied,
    "wait": _wait,
    "split": _split,
    "joined": _joined,
    "answered": _answered,
    "closed": _closed,
    "plan": _plan,
    "offer": _offer,
    "link": _link,
    "family_said": _family_said,
    "skin": _skin,
    "looked": _looked,
    "incident": _incident,
    "judged": _judged,
    "incident_closed": _incident_closed,
    "concern": _concern,
}
