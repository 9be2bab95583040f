"""Signing in and out, the own account, and what administrators do to accounts and sites."""

from __future__ import annotations

from collections.abc import Iterator
from contextlib import contextmanager
from dataclasses import replace
from datetime import timedelta
from typing import Any

import sqlalchemy as sa
from sqlalchemy.exc import IntegrityError

from service.access.actor import Actor
from service.access.permissions import May, Role
from service.access.usecase import usecase
from service.access.work import Work
from service.accounts import queries
from service.accounts.followups import ask_for_every_forecast
from service.accounts.membership import keep_an_administrator, roles, set_roles, set_sites, site_ids
from service.accounts.rules import browser_name, password_problem
from service.accounts.schemas import (
    AccountView,
    AddAccount,
    AddSite,
    AddTown,
    ChangeAccount,
    ChangePassword,
    ChangeSite,
    ChangeTown,
    IssuedToken,
    IssueToken,
    NotRight,
    SignedIn,
    SignIn,
    SiteView,
    TokenView,
    TownView,
)
from service.accounts.tables import AccountRow, SessionRow, SiteRow, TokenRow, TownRow
from service.accounts.throttle import by_address, by_network, count_try, forget_tries, hold_back
from service.audit.actions import note
from service.kit.errors import Conflict, Forbidden, Invalid, NotFound
from service.kit.passwords import fingerprint, is_outdated, is_password, password_hash, random_text
from service.kit.schema import View

WRONG = "The address and the password do not belong together. Check both; an administrator can set a new password."
TOKEN_PREFIX = "handspan_"  # noqa: S105 marks a leaked token as one of ours; it is no secret
ADDRESS_TAKEN = "There is an account with this address already. Change that one, or use another address."


@usecase(May.SIGN_IN)
def sign_in(work: Work, command: SignIn, *, host: str, user_agent: str, lasts: timedelta) -> SignedIn | NotRight:
    """Open a session for `lasts`. A closed account, an unknown address and a wrong password are answered alike.

    Raises TooMany after too many failed tries at the address or from the network of `host`.
    """
    counted = {**by_address(command.email), **by_network(host)}
    hold_back(work, counted)
    row = work.session.scalars(
        sa.select(AccountRow).where(AccountRow.email == command.email, AccountRow.closed_at.is_(None))
    ).one_or_none()
    password = command.password.get_secret_value()
    right = is_password(password, row.password_hash if row else None)
    if row is None or not right:
        count_try(work, counted)
        note(work, "gave a wrong password", "account", subject_id=row.id if row else None)
        return NotRight(field="password", message=WRONG)

    forget_tries(work, row.email)
    if is_outdated(row.password_hash):
        row.password_hash = password_hash(password)
    if work.actor.session_id is not None:
        _end(work, SessionRow, SessionRow.id == work.actor.session_id)
    cookie = random_text()
    opened = SessionRow(
        account_id=row.id,
        token_hash=fingerprint(cookie),
        browser=browser_name(user_agent),
        created_at=work.now,
        expires_at=work.now + lasts,
    )
    work.session.add(opened)
    work.session.flush()  # for the id
    themselves = Actor(name=row.name, roles=frozenset(), account_id=row.id, session_id=opened.id)
    note(replace(work, actor=themselves), "signed in", "session", subject_id=opened.id)
    return SignedIn(cookie=cookie)


@usecase(May.SIGN_IN)
def sign_out(work: Work) -> None:
    """End the session in use; nothing happens when it has ended already."""
    if work.actor.session_id is not None:
        _end(work, SessionRow, SessionRow.id == work.actor.session_id)
        note(work, "signed out", "session", subject_id=work.actor.session_id)


@usecase(May.KEEP_OWN_ACCOUNT)
def change_password(work: Work, command: ChangePassword) -> NotRight | None:
    """Set a new password and end every other session of the account.

    Raises Invalid for a new password that is too easily guessed, TooMany after too many wrong old ones.
    """
    row = work.session.get_one(AccountRow, work.actor.account_id)
    hold_back(work, by_address(row.email))
    if command.new_password != command.new_password_again:
        raise Invalid.at("new_password_again", "The two new passwords differ. Type both again.")
    if not is_password(command.old_password.get_secret_value(), row.password_hash):
        count_try(work, by_address(row.email))
        note(work, "gave a wrong password", "account", subject_id=row.id)
        return NotRight(field="old_password", message="This is not the password in use. Type it again.")
    row.password_hash = _good_hash(command.new_password.get_secret_value(), row, field="new_password")
    forget_tries(work, row.email)
    _end(work, SessionRow, SessionRow.account_id == row.id, SessionRow.id != work.actor.session_id)
    note(work, "changed the password", "account", subject_id=row.id)
    return None


@usecase(May.KEEP_OWN_ACCOUNT)
def end_session(work: Work, session_id: int) -> None:
    """Sign out one of the own browsers; raises NotFound for anybody else's."""
    own = (SessionRow.id == session_id, SessionRow.account_id == work.actor.account_id)
    if work.session.scalar(sa.select(SessionRow.id).where(*own)) is None:
        raise NotFound("There is no such browser among yours.")
    _end(work, SessionRow, *own)
    note(work, "ended", "session", subject_id=session_id)


@usecase(May.KEEP_OWN_ACCOUNT)
def issue_token(work: Work, command: IssueToken) -> IssuedToken:
    """A new API token for the own account, asked for on its page.

    Raises Forbidden when a token asks for another, which would outlive it: one that was stolen could not be ended.
    """
    if work.actor.session_id is None:
        raise Forbidden("Issue a token on your account's page, or at the console; a token cannot issue another.")
    if command.role is not None and command.role not in work.actor.roles:
        raise Invalid.at("role", "A token can be narrowed only to a role you hold.")
    return _issue(work, work.session.get_one(AccountRow, work.actor.account_id), command)


@usecase(May.MANAGE_ACCOUNTS)
def issue_token_for(work: Work, email: str, command: IssueToken) -> IssuedToken:
    """A new API token for somebody else's account, by address; raises NotFound when there is no open one."""
    row = work.session.scalars(
        sa.select(AccountRow).where(AccountRow.email == email.strip().lower(), AccountRow.closed_at.is_(None))
    ).one_or_none()
    if row is None:
        raise NotFound("There is no open account with this address.")
    if command.role is not None and command.role not in roles(work, row.id):
        raise Invalid.at("role", "A token can be narrowed only to a role its owner holds.")
    return _issue(work, row, command)


@usecase(May.KEEP_OWN_ACCOUNT)
def end_token(work: Work, token_id: int) -> TokenView:
    """End one of the own tokens, once and for all; raises NotFound for anybody else's."""
    own = (TokenRow.id == token_id, TokenRow.account_id == work.actor.account_id)
    row = work.session.scalars(sa.select(TokenRow).where(*own)).one_or_none()
    if row is None:
        raise NotFound("There is no such token among yours.")
    if row.ended_at is None:
        row.ended_at = work.now
        note(work, "ended", "token", subject_id=row.id)
    return _token_view(row)


@usecase(May.MANAGE_ACCOUNTS)
def add_account(work: Work, command: AddAccount) -> AccountView:
    """Open an account; raises Conflict when the address has one, Invalid for an unknown site or a poor password."""
    row = AccountRow(email=command.email, name=command.name, created_at=work.now)
    row.password_hash = _good_hash(command.password.get_secret_value(), row)
    sites = site_ids(work, command.sites)
    with _conflict_if_taken(work, ADDRESS_TAKEN):
        work.session.add(row)
    set_roles(work, row.id, command.roles)
    set_sites(work, row.id, sites)
    work.session.flush()  # so that the view below finds them
    note(work, "added", "account", subject_id=row.id)
    return queries.account(work, row.id)


@usecase(May.MANAGE_ACCOUNTS)
def change_account(work: Work, account_id: int, command: ChangeAccount) -> AccountView:
    """Change, close or reopen an account; what is not given stays.

    Raises Conflict for a taken address and when the register would be left without an administrator.
    """
    before = queries.account(work, account_id)
    row = work.session.get_one(AccountRow, account_id)
    if command.closed or (command.roles is not None and Role.ADMINISTRATOR not in command.roles):
        keep_an_administrator(work, account_id)
    with _conflict_if_taken(work, ADDRESS_TAKEN):
        row.email, row.name = command.email or row.email, command.name or row.name
    if command.roles is not None:
        set_roles(work, account_id, command.roles)
    if command.sites is not None:
        set_sites(work, account_id, site_ids(work, command.sites))
    if command.closed is not None and command.closed != (row.closed_at is not None):
        row.closed_at = work.now if command.closed else None
    if command.password is not None:
        row.password_hash = _good_hash(command.password.get_secret_value(), row)
        forget_tries(work, row.email)
        note(work, "set a new password for", "account", subject_id=account_id)
    if command.closed or command.password is not None:
        _end(work, SessionRow, SessionRow.account_id == account_id)
    if command.closed:
        _end(work, TokenRow, TokenRow.account_id == account_id)
    work.session.flush()  # so that the view below shows what is now so
    changed = queries.account(work, account_id)
    if changes := _differences(before, changed):
        note(work, "changed", "account", subject_id=account_id, changes=changes)
    return changed


@usecase(May.MANAGE_ACCOUNTS)
def add_site(work: Work, command: AddSite) -> SiteView:
    """Add a site; raises Conflict when the code is in use."""
    row = SiteRow(**_with_town(work, command.model_dump()))
    with _conflict_if_taken(work, "There is a site with this code already. Choose another code."):
        work.session.add(row)
    note(work, "added", "site", subject_id=row.id)
    return queries.site(work, row.code)


@usecase(May.MANAGE_ACCOUNTS)
def change_site(work: Work, code: str, command: ChangeSite) -> SiteView:
    """Change a site's name, lead time, accepted risk or note; what is not given stays."""
    before = queries.site(work, code)
    row = work.session.scalars(sa.select(SiteRow).where(SiteRow.code == code)).one()
    for field, value in _with_town(work, command.model_dump(exclude_none=True)).items():
        setattr(row, field, value)
    work.session.flush()  # so that the view below shows what is now so
    changed = queries.site(work, code)
    if changes := _differences(before, changed):
        note(work, "changed", "site", subject_id=row.id, changes=changes)
    if not changes.keys().isdisjoint({"lead_days", "tight_risk"}):
        ask_for_every_forecast(work)
    return changed


@usecase(May.KEEP_TOWNS)
def add_town(work: Work, command: AddTown) -> TownView:
    """Record a town; raises Conflict when there is one of this name."""
    row = TownRow(**command.model_dump())
    with _conflict_if_taken(work, "There is a town of this name already. Write what tells them apart behind it."):
        work.session.add(row)
    note(work, "recorded", "town", subject_id=row.id)
    return queries.town(work, row.id)


@usecase(May.KEEP_TOWNS)
def change_town(work: Work, town_id: int, command: ChangeTown) -> TownView:
    """Put a town right; what is not given stays. Raises Conflict when its new name is another's."""
    before = queries.town(work, town_id)
    row = work.session.get_one(TownRow, town_id)
    with _conflict_if_taken(work, "There is a town of this name already. Write what tells them apart behind it."):
        for field, value in command.model_dump(exclude_none=True).items():
            setattr(row, field, value)
    changed = queries.town(work, town_id)
    if changes := _differences(before, changed):
        note(work, "changed", "town", subject_id=town_id, changes=changes)
    return changed


def _with_town(work: Work, given: dict[str, Any]) -> dict[str, Any]:
    """The values of a site with the id of its town by the column's name; raises Invalid for a town nobody recorded."""
    given = {"town_id": given.pop("town"), **given} if "town" in given else given
    if given.get("town_id") is not None and work.session.get(TownRow, given["town_id"]) is None:
        raise Invalid.at("town", "Choose one of the towns that are recorded, or record it first.")
    return given


def _issue(work: Work, owner: AccountRow, command: IssueToken) -> IssuedToken:
    text = TOKEN_PREFIX + random_text()
    row = TokenRow(
        account_id=owner.id,
        name=command.name,
        role=command.role,
        token_hash=fingerprint(text),
        created_at=work.now,
        expires_at=work.now + timedelta(days=command.days),
    )
    work.session.add(row)
    work.session.flush()  # for the id
    note(work, "issued", "token", subject_id=row.id, changes={"owner": [None, owner.id]})
    return IssuedToken(**_token_view(row).model_dump(), token=text)


def _token_view(row: TokenRow) -> TokenView:
    return TokenView.model_validate(row, from_attributes=True)


def _end(work: Work, kind: type[SessionRow | TokenRow], *which: sa.ColumnElement[bool]) -> None:
    work.session.execute(sa.update(kind).where(kind.ended_at.is_(None), *which).values(ended_at=work.now))


def _good_hash(password: str, row: AccountRow, *, field: str = "password") -> str:
    if problem := password_problem(password, email=row.email, name=row.name):
        raise Invalid.at(field, problem)
    return password_hash(password)


@contextmanager
def _conflict_if_taken(work: Work, sentence: str) -> Iterator[None]:
    """Let the database's unique constraint decide: a look beforehand could be overtaken by somebody else.

    The savepoint keeps the session usable, so that a page can show the form again.
    """
    try:
        with work.session.begin_nested():
            yield
    except IntegrityError as error:
        raise Conflict(sentence) from error


def _differences(before: View, now: View) -> dict[str, list[Any]]:
    was, new = before.model_dump(mode="json"), now.model_dump(mode="json")
    return {field: [was[field], new[field]] for field in was if was[field] != new[field]}
