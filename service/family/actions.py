"""Making, opening and ending links, and what a family says through one."""

from __future__ import annotations

from contextlib import suppress
from dataclasses import replace

import sqlalchemy as sa

from service.access.permissions import May, Role
from service.access.usecase import usecase
from service.access.work import Work
from service.accounts.tables import AccountRoleRow, AccountRow, AccountSiteRow
from service.audit.actions import note
from service.devices.actions import report_socks
from service.devices.rules import Fit
from service.devices.schemas import ReportSocks
from service.family.asking import ask_family
from service.family.rules import LASTS, STOPS, SaidKind, is_birth, is_open, months_until, wants_next
from service.family.schemas import Closed, Family, GiveBirth, MadeLink, MakeLink, Say, SocksTold, Stop, TellBroken
from service.family.tables import LinkRow, SaidRow
from service.family.throttle import by_link, by_network, count_try, minutes_to_wait
from service.family.whose import acting
from service.growth.queries import forecasts
from service.kit.errors import Conflict, Invalid, NotFound
from service.kit.passwords import fingerprint, random_text
from service.notifications.actions import tell, tell_family
from service.notifications.families import FamilyMessage
from service.notifications.schemas import Person
from service.outcomes.queries import to_ask
from service.recipients.actions import take_back
from service.recipients.queries import seen_recipient
from service.recipients.rules import Purpose
from service.recipients.tables import ConsentRow, ContactRow, RecipientRow
from service.requests.actions import ask
from service.requests.rules import RequestKind, RequestState
from service.requests.schemas import AskPart, AskRequest
from service.requests.tables import RequestRow


@usecase(May.KEEP_FAMILY_LINKS)
def make_link(work: Work, case_number: str, command: MakeLink, *, base_url: str) -> MadeLink:
    """Make a link; the one the same contact had before ends.

    Raises NotFound for a case not theirs to see, Invalid for a contact that is not on record.
    """
    person = seen_recipient(work, case_number)
    contact = _contact(work, person.id, command.contact)
    if command.send and contact is None:
        raise Invalid.at("contact", "A link is sent only to a contact on record. Choose one, or record one first.")
    _end(work, LinkRow.recipient_id == person.id, LinkRow.contact_id == command.contact)
    key = random_text()
    row = LinkRow(
        recipient_id=person.id,
        contact_id=command.contact,
        key_hash=fingerprint(key),
        made_at=work.now,
        made_by=work.actor.name,
        ends_at=work.now + LASTS,
    )
    work.session.add(row)
    work.session.flush()  # the id is needed below
    note(work, "made", "family link", subject_id=row.id, recipient_id=person.id)
    if command.send and contact is not None:
        tell_family(work, FamilyMessage.LINK, row.id, to=contact, recipient_id=person.id, path=f"/family/{key}")
    return MadeLink(
        id=row.id,
        url=f"{base_url.rstrip('/')}/family/{key}",
        ends_at=row.ends_at,
        sent_to=contact.name if command.send and contact else None,
    )


@usecase(May.KEEP_FAMILY_LINKS)
def revoke_link(work: Work, case_number: str, link_id: int) -> None:
    """End a link at once; raises NotFound for one that is not of the case, Conflict for one that has ended."""
    person = seen_recipient(work, case_number)
    mine = sa.select(LinkRow).where(LinkRow.id == link_id, LinkRow.recipient_id == person.id)
    row = work.session.scalars(mine.with_for_update()).one_or_none()
    if row is None:
        raise NotFound("There is no such link in this case.")
    if not is_open(row.ends_at, row.revoked_at, work.now):
        raise Conflict("This link has ended already. It opens nothing any more.")
    row.revoked_at = work.now
    note(work, "ended", "family link", subject_id=row.id, recipient_id=person.id)


@usecase(May.OPEN_FAMILY_LINKS)
def open_link(work: Work, key: str, host: str) -> Family | Closed:
    """Whose pages a link opens. One that is wrong, old, ended or made up is answered alike, and counted.

    It is returned, not raised, so that what was counted is stored. A link that is right opens whatever was tried
    before from the same network: a family that is in need is not kept out by somebody else's guesses.
    """
    row = work.session.execute(
        sa.select(
            *(LinkRow.id, LinkRow.key_hash, LinkRow.ends_at, LinkRow.revoked_at, LinkRow.opened_at),
            *(RecipientRow.id.label("recipient"), RecipientRow.case_number, RecipientRow.given_name),
            *(RecipientRow.birth_date, RecipientRow.language, ContactRow.name.label("contact")),
        )
        .join(RecipientRow, RecipientRow.id == LinkRow.recipient_id)
        .outerjoin(ContactRow, ContactRow.id == LinkRow.contact_id)
        .where(LinkRow.key_hash == fingerprint(key))
    ).one_or_none()
    if row is None or not is_open(row.ends_at, row.revoked_at, work.now):
        counted = by_network(host)
        wait = minutes_to_wait(work, counted)
        if wait is None:
            count_try(work, counted)
            note(work, "tried a link that opens nothing", "family link", subject_id=row.id if row else None)
        return Closed(wait)
    said_by = f"{row.contact} (family)" if row.contact else "the family"
    named = (row.recipient, row.case_number, row.given_name, row.birth_date, row.language)
    return Family(row.id, row.key_hash, *named, said_by)


@usecase(May.OPEN_FAMILY_LINKS)
def prove(work: Work, family: Family, command: GiveBirth) -> bool | Closed:
    """Whether the month and year of birth are right; returned, not raised, so that a wrong one is counted.

    Closed, with how long to wait, after too many wrong ones.
    """
    counted = by_link(family.key_hash)
    if (wait := minutes_to_wait(work, counted)) is not None:
        return Closed(wait)
    right = is_birth(family.birth_date, command.month, command.year)
    theirs = replace(work, actor=acting(family))
    if not right:
        count_try(work, counted)
        note(
            theirs, "gave a wrong month of birth", "family link", subject_id=family.link, recipient_id=family.recipient
        )
        return False
    first = sa.update(LinkRow).where(LinkRow.id == family.link, LinkRow.opened_at.is_(None))
    work.session.execute(first.values(opened_at=work.now))
    note(theirs, "opened", "family link", subject_id=family.link, recipient_id=family.recipient)
    return True


@usecase(May.SPEAK_AS_FAMILY)
def say(work: Work, command: Say) -> None:
    """Say thanks, stop, a question about data, or that the link was lost: a coordinator is told, and settles it."""
    recipient_id = work.actor.recipient_id
    person = work.session.get_one(RecipientRow, recipient_id)
    same = sa.select(SaidRow.id).where(
        SaidRow.recipient_id == person.id,
        SaidRow.kind == command.kind,
        SaidRow.words == command.words,
        SaidRow.settled_at.is_(None),
    )
    if work.session.scalar(same) is not None:
        return
    row = SaidRow(
        recipient_id=person.id, kind=command.kind, words=command.words, said_at=work.now, said_by=work.actor.name
    )
    work.session.add(row)
    work.session.flush()  # the id is needed below
    note(work, "said", command.kind.value.replace("_", " "), subject_id=row.id, recipient_id=person.id)
    if command.kind is SaidKind.LINK_LOST:
        _end(work, LinkRow.recipient_id == person.id, LinkRow.revoked_at.is_(None))
    for account in work.session.execute(_coordinators(person.site_id)):
        tell(
            work,
            key=f"family-said:{row.id}:{account.id}",
            to=Person(account.name, email=account.email, account_id=account.id),
            subject="A family said something to you",
            body=f"Please read it and settle it:\n\n/recipients/{person.case_number}/family",
            urgent=command.kind is SaidKind.STOP,
            site_id=person.site_id,
        )


@usecase(May.SPEAK_AS_FAMILY)
def stop(work: Work, command: Stop) -> None:
    """Take back what was agreed to, at once; a coordinator is told, and rings."""
    take_back(work, command.purposes)
    wished = "; ".join(purpose.value.replace("_", " ") for purpose in command.purposes)
    say(work, Say(kind=SaidKind.STOP, words=f"Taken back: {wished}. {command.words}".strip()))


@usecase(May.SPEAK_AS_FAMILY)
def may_stop(work: Work) -> list[Purpose]:
    """What the family agreed to and has not taken back, in the order in which it is asked."""
    standing = sa.select(ConsentRow.purpose).where(
        ConsentRow.recipient_id == work.actor.recipient_id, ConsentRow.withdrawn_on.is_(None)
    )
    agreed = set(work.session.scalars(standing))
    return [purpose for purpose in STOPS if purpose in agreed]


@usecase(May.SPEAK_AS_FAMILY)
def tell_socks(work: Work, case_number: str, command: ReportSocks) -> SocksTold:
    """Report the socks worn, say what that means, and ask for the next socket when none is left to take off.

    The same report sent again changes nothing. Raises Invalid as `report_socks` does.
    """
    with suppress(Conflict):  # it is on record already, which is as well
        report_socks(work, case_number, command)
    tight = command.fit is Fit.TIGHT
    due = wants_next(command.plies, snug=command.fit is Fit.SNUG, tight=tight)
    if due:
        with suppress(Conflict):  # it is asked for already
            ask(work, AskRequest(case_number=case_number, kind=RequestKind.NEXT_SOCKET, device=command.device))
    found = [each for each in forecasts(work, case_number) if command.device in {None, each.device} and each.due]
    likely = next((each.due.p50 for each in found if each.due), None)
    return SocksTold(months_until(likely, work.today) if likely else None, tight, due)


@usecase(May.SPEAK_AS_FAMILY)
def tell_broken(work: Work, case_number: str, command: TellBroken) -> int | None:
    """Ask for what broke; the new request's number, None when it is asked for already.

    Raises Invalid for a part that cannot be.
    """
    wanted = AskRequest(
        case_number=case_number,
        kind=RequestKind.REPLACEMENT,
        device=command.device,
        parts=[AskPart(**part.model_dump(), happened=command.happened) for part in command.parts],
        words=command.words,
        colour=command.colour,
        usable=command.usable,
    )
    try:
        return ask(work, wanted).id
    except Conflict:
        return None


@usecase(May.KEEP_OFFERS)
def tell_making(work: Work, request_id: int) -> None:
    """Tell those who hold an open link, once each, that somebody makes what was asked for, if it still is so."""
    found = sa.select(RequestRow.recipient_id).where(
        RequestRow.id == request_id, RequestRow.state == RequestState.AGREED
    )
    recipient_id = work.session.scalar(found)
    holders = (
        sa.select(ContactRow)
        .join(LinkRow, LinkRow.contact_id == ContactRow.id)
        .where(ContactRow.recipient_id == recipient_id, ContactRow.ended_on.is_(None))
        .where(LinkRow.revoked_at.is_(None), LinkRow.ends_at > work.now)
        .order_by(ContactRow.id)
    )
    for each in work.session.scalars(holders).unique().all() if recipient_id else ():
        tell_family(work, FamilyMessage.MAKING, f"{request_id}:{each.id}", to=each, recipient_id=each.recipient_id)


@usecase(May.ASK_FOLLOW_UPS)
def ask_how_it_goes(work: Work) -> int:
    """Ask each family once about each ask that is open today; how many were asked now."""
    return sum(ask_family(work, each) for each in to_ask(work))


@usecase(May.KEEP_FAMILY_LINKS)
def settle_said(work: Work, case_number: str, said_id: int) -> None:
    """Record that what a family said was seen to; raises NotFound or Conflict."""
    person = seen_recipient(work, case_number)
    mine = sa.select(SaidRow).where(SaidRow.id == said_id, SaidRow.recipient_id == person.id)
    row = work.session.scalars(mine.with_for_update()).one_or_none()
    if row is None:
        raise NotFound("The family of this case said no such thing.")
    if row.settled_at is not None:
        raise Conflict(f"{row.settled_by} has seen to this already.")
    row.settled_at, row.settled_by = work.now, work.actor.name
    note(work, "settled", "family words", subject_id=row.id, recipient_id=person.id)


def _contact(work: Work, recipient_id: int, contact_id: int | None) -> ContactRow | None:
    if contact_id is None:
        return None
    known = sa.select(ContactRow).where(
        ContactRow.id == contact_id, ContactRow.recipient_id == recipient_id, ContactRow.ended_on.is_(None)
    )
    found = work.session.scalars(known).one_or_none()
    if found is None:
        raise Invalid.at("contact", "This is no contact of the case. Choose one of those on record.")
    return found


def _end(work: Work, *which: sa.ColumnElement[bool]) -> None:
    work.session.execute(
        sa.update(LinkRow)
        .where(*which, LinkRow.revoked_at.is_(None))
        .values(revoked_at=work.now)
        .execution_options(synchronize_session=False)
    )


def _coordinators(site_id: int) -> sa.Select[int, str, str]:
    return (
        sa.select(AccountRow.id, AccountRow.name, AccountRow.email)
        .join(AccountRoleRow, AccountRoleRow.account_id == AccountRow.id)
        .join(AccountSiteRow, AccountSiteRow.account_id == AccountRow.id)
        .where(
            AccountRoleRow.role == Role.COORDINATOR, AccountSiteRow.site_id == site_id, AccountRow.closed_at.is_(None)
        )
    )
