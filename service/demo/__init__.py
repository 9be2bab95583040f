"""The demo register: an invented charity with three sites, told through the same use cases everybody else goes through.

`seed_data/register.json` says what happened to each invented person and how many days ago. The tale is told oldest
first, each act at its own moment and by whoever would have done it, so rules and audit hold as they would have held.
It is one transaction: a demo that is killed while it is being made leaves an empty register.
"""

from __future__ import annotations

import secrets
from dataclasses import dataclass
from datetime import date, datetime, time, timedelta
from typing import NamedTuple

import sqlalchemy as sa
from sqlalchemy.orm import Session

from service.access.actor import SYSTEM, Actor
from service.access.permissions import Role
from service.access.work import Work
from service.accounts import actions as accounts
from service.accounts.schemas import AddAccount, AddSite, ChangeAccount, IssueToken
from service.accounts.tables import AccountRow, SiteRow
from service.audit.actions import note
from service.audit.tables import AuditRow
from service.demo.asking import FAMILY_KEY, plan_site
from service.demo.drawings import drawing
from service.demo.story import read_story, tell
from service.demo.telling import Told
from service.family.tables import LinkRow
from service.figures.jobs import SHEETS_MAKE
from service.kit.clock import Clock
from service.kit.db import Database
from service.kit.files import Files
from service.kit.jobs import enqueue
from service.kit.passwords import fingerprint
from service.recipients.tables import RecipientRow
from service.requests.actions import learn_leads
from service.settings import Settings
from service.worker import run_one


class DemoPerson(NamedTuple):
    """Somebody who can sign in to the demo; the password is no secret."""

    role: Role
    name: str
    email: str
    password: str
    sites: tuple[str, ...]


SITES = (
    AddSite(code="mer", name="Merrowhaven harbour workshop", lead_days=28),
    AddSite(code="ost", name="Ostrabridge clinic", lead_days=24, note="Fittings on Tuesdays and Thursdays."),
    AddSite(code="thr", name="Isle of Thrennay", lead_days=49, note="Post comes by ferry, twice a week at best."),
)
_EVERYWHERE = tuple(site.code for site in SITES)

PEOPLE = (
    DemoPerson(Role.COORDINATOR, "Bryony Sedge", "coordinator@hands.example.org", "kettle-ferry-thimble", _EVERYWHERE),
    DemoPerson(Role.VOLUNTEER, "Teun Harkema", "volunteer@hands.example.org", "nozzle-harbour-plum", ("mer",)),
    DemoPerson(Role.CLINICIAN, "Idris Quillam", "clinician@hands.example.org", "plaster-tuesday-oak", _EVERYWHERE),
    DemoPerson(Role.TRUSTEE, "Agnes Porteous-Rye", "trustee@hands.example.org", "ledger-gull-marmalade", _EVERYWHERE),
    DemoPerson(Role.SAFEGUARDING_LEAD, "Marguerite Thole", "lead@hands.example.org", "lamp-quiet-door", _EVERYWHERE),
    DemoPerson(Role.ADMINISTRATOR, "Jonas Wickerham", "admin@hands.example.org", "copper-key-almanac", _EVERYWHERE),
)

PLANNED_TODAY = "mer"
"""The site whose plan of today waits for the coordinator."""

_MADE = ("made", "demo register")
_OPENED_DAYS_AGO = 3_000
_LEFT = "former volunteer"
_AT = time(10, 30)


def is_demo(db: Database) -> bool | None:
    """Whether a register is a demo; None when nothing is in it yet.

    A demo's audit begins by saying so, and the database lets nobody change the audit.
    """
    with db.reading() as session:
        first = session.execute(sa.select(AuditRow.act, AuditRow.subject).order_by(AuditRow.id).limit(1)).one_or_none()
        in_use = session.scalar(sa.select(AccountRow.id).limit(1)) or session.scalar(sa.select(SiteRow.id).limit(1))
    if first is None and not in_use:
        return None
    return first is not None and tuple(first) == _MADE


def build(db: Database, clock: Clock, files: Files, settings: Settings | None = None) -> None:
    """Tell the whole tale into an empty, migrated register, work out every forecast it asks for, and plan today.

    Without settings the mail it has to send waits.
    """
    now, story = clock(), read_story()
    in_order = sorted((event for events in story for event in events), key=lambda event: -event["ago"])
    with drawing(in_order, files) as drawings, db.writing() as session:
        past = _Past(session, now)
        note(past.work(SYSTEM, _OPENED_DAYS_AGO), *_MADE)
        told = Told(past.work, _cast(past), drawings)
        tell(story, told)
        learn_leads(past.work(SYSTEM, 0))  # from the years that were just told, before any forecast reckons with them
        accounts.change_account(past.work(SYSTEM, 0), told.account(_LEFT), ChangeAccount(closed=True))
    while run_one(db, clock, settings):
        pass
    with db.writing() as session:  # what the forecasts asked for is in the list by now
        today = _Past(session, now).work(told.actors[Role.COORDINATOR], 0)
        plan_site(today, PLANNED_TODAY, accept=False)


def make_sheets(db: Database, clock: Clock, settings: Settings) -> None:
    """Work out what trustees are told, as the daily job would."""
    with db.writing() as session:
        enqueue(session, SHEETS_MAKE, now=clock(), key=SHEETS_MAKE)
    while run_one(db, clock, settings):
        pass


def family_door(db: Database) -> tuple[str, date] | None:
    """The text of the one family link of the demo and when its recipient was born; None once the link has ended."""
    opens = (LinkRow.key_hash == fingerprint(FAMILY_KEY), LinkRow.revoked_at.is_(None))
    born = sa.select(RecipientRow.birth_date).join(LinkRow, LinkRow.recipient_id == RecipientRow.id).where(*opens)
    with db.reading() as session:
        found = session.scalar(born)
    return None if found is None else (FAMILY_KEY, found)


@dataclass(frozen=True)
class _Past:
    """Hands out work at moments that lie days back."""

    session: Session
    now: datetime

    def work(self, actor: Actor, days_ago: int) -> Work:
        """Work of somebody on a day, at half past ten; today's is done now."""
        day = self.now.date() - timedelta(days=days_ago)
        moment = datetime.combine(day, _AT, self.now.tzinfo) if days_ago else self.now
        return Work(self.session, actor, moment)


def _cast(past: _Past) -> dict[str, Actor]:
    """Open the sites and accounts; everybody who acts, by the name the story calls them."""
    opening = past.work(SYSTEM, _OPENED_DAYS_AGO)
    for site in SITES:
        accounts.add_site(opening, site)
    actors = {person.role.value: _account(opening, person) for person in PEOPLE}
    left = DemoPerson(Role.VOLUNTEER, "Odile Fenn", "fenn@hands.example.org", secrets.token_urlsafe(24), _EVERYWHERE)
    actors[_LEFT] = _account(opening, left)
    reports = IssueToken(name="first yearly report", role=Role.TRUSTEE, days=60)
    trustee = next(person for person in PEOPLE if person.role is Role.TRUSTEE)
    accounts.issue_token_for(opening, trustee.email, reports)
    return actors


def _account(work: Work, person: DemoPerson) -> Actor:
    made = accounts.add_account(
        work,
        AddAccount.model_validate(
            {
                "email": person.email,
                "name": person.name,
                "roles": {person.role},
                "sites": person.sites,
                "password": person.password,
            }
        ),
    )
    sites = work.session.scalars(sa.select(SiteRow.id).where(SiteRow.code.in_(person.sites)))
    return Actor(person.name, frozenset({person.role}), frozenset(sites), made.id)
