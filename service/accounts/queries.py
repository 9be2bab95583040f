"""Who sent a request, and reads of sites, accounts, sessions and tokens."""

from __future__ import annotations

from collections.abc import Sequence
from datetime import datetime
from typing import Any

import sqlalchemy as sa
from sqlalchemy.orm import Session

from service.access.actor import NOBODY, Actor
from service.access.credential import Credential
from service.access.permissions import PEOPLE, May, Role
from service.access.usecase import usecase
from service.access.work import Work
from service.accounts.schemas import AccountView, MeView, Person, SessionView, SiteView, TokenView, TownView
from service.accounts.tables import AccountRoleRow, AccountRow, AccountSiteRow, SessionRow, SiteRow, TokenRow, TownRow
from service.kit.errors import Invalid, NotFound
from service.kit.paging import Page, after, decode, encode
from service.kit.passwords import fingerprint

_SITE = (
    *(SiteRow.code, SiteRow.name, SiteRow.lead_days, SiteRow.tight_risk, SiteRow.replacement_days, SiteRow.note),
    SiteRow.town_id.label("town"),
)
_TOWN = (TownRow.id, TownRow.name, TownRow.latitude, TownRow.longitude)
_TOKEN = (TokenRow.id, TokenRow.name, TokenRow.role, TokenRow.created_at, TokenRow.expires_at, TokenRow.ended_at)
_ACCOUNT = (AccountRow.id, AccountRow.email, AccountRow.name, AccountRow.created_at, AccountRow.closed_at)


def identify(session: Session, credential: Credential, now: datetime) -> Actor:
    """Whose credential it is; NOBODY for one that is unknown, ended or expired, or whose account is closed.

    Not a use case: it runs before anybody is known to have permissions.
    """
    if credential.session is not None:
        return _actor(session, SessionRow, credential.session, now, sa.null())
    if credential.token is not None:
        return _actor(session, TokenRow, credential.token, now, TokenRow.role)
    return NOBODY


def _actor(
    session: Session, kind: type[SessionRow | TokenRow], text: str, now: datetime, narrowed: sa.ColumnElement[Any] | Any
) -> Actor:
    rows = session.execute(
        sa.select(
            kind.id,
            narrowed.label("narrowed"),
            AccountRow.id.label("account_id"),
            AccountRow.name,
            AccountRoleRow.role,
            AccountSiteRow.site_id,
        )
        .join(AccountRow, AccountRow.id == kind.account_id)
        .join(AccountRoleRow, AccountRoleRow.account_id == AccountRow.id)
        .join(AccountSiteRow, AccountSiteRow.account_id == AccountRow.id)
        .where(
            kind.token_hash == fingerprint(text),
            kind.ended_at.is_(None),
            kind.expires_at > now,
            AccountRow.closed_at.is_(None),
        )
    ).all()
    # A narrowed token is worth what its owner still holds: with the role gone, so is the token.
    roles = frozenset(row.role for row in rows if row.narrowed in {None, row.role})
    if not roles:
        return NOBODY
    return Actor(
        name=rows[0].name,
        roles=roles,
        sites=frozenset(row.site_id for row in rows),
        account_id=rows[0].account_id,
        session_id=rows[0].id if kind is SessionRow else None,
    )


@usecase(May.KEEP_OWN_ACCOUNT)
def me(work: Work) -> MeView:
    """Who is acting, and with which roles."""
    own = work.session.execute(
        sa.select(AccountRow.email, AccountRow.name).where(AccountRow.id == work.actor.account_id)
    ).one()
    mine = _sites(work, SiteRow.id.in_(work.actor.sites))
    return MeView(email=own.email, name=own.name, roles=sorted(work.actor.roles, key=PEOPLE.index), sites=mine)


@usecase(May.SEE_SITES)
def sites(work: Work) -> list[SiteView]:
    """The sites of the actor; all of them for whoever manages accounts."""
    if work.actor.can(May.MANAGE_ACCOUNTS):
        return every_site(work)
    return _sites(work, SiteRow.id.in_(work.actor.sites))


@usecase(May.MANAGE_ACCOUNTS)
def every_site(work: Work) -> list[SiteView]:
    """All sites, by name."""
    return _sites(work, sa.true())


def _sites(work: Work, wanted: sa.ColumnElement[bool]) -> list[SiteView]:
    rows = work.session.execute(sa.select(*_SITE).where(wanted).order_by(SiteRow.name))
    return [SiteView(**row._mapping) for row in rows]


@usecase(May.MANAGE_ACCOUNTS)
def site(work: Work, code: str) -> SiteView:
    """One site; raises NotFound."""
    row = work.session.execute(sa.select(*_SITE).where(SiteRow.code == code)).one_or_none()
    if row is None:
        raise NotFound("There is no site with this code.")
    return SiteView(**row._mapping)


@usecase(May.SEE_SITES)
def towns(work: Work) -> list[TownView]:
    """The towns that are recorded, by name: to choose from. Who lives in them is told elsewhere, and only roughly."""
    rows = work.session.execute(sa.select(*_TOWN).order_by(TownRow.name, TownRow.id))
    return [TownView(**row._mapping) for row in rows]


@usecase(May.SEE_SITES)
def town(work: Work, town_id: int) -> TownView:
    """One town; raises NotFound."""
    row = work.session.execute(sa.select(*_TOWN).where(TownRow.id == town_id)).one_or_none()
    if row is None:
        raise NotFound("There is no such town. Choose one of those recorded, or record it first.")
    return TownView(**row._mapping)


@usecase(May.SEE_SITES)
def site_choice(work: Work, code: str | None) -> int:
    """The id of the site meant by a code, or of the actor's first site when none is given.

    Raises Invalid, naming the codes the actor may use, for any other site.
    """
    own = sa.select(SiteRow.id, SiteRow.code).where(SiteRow.id.in_(work.actor.sites)).order_by(SiteRow.id)
    ids: dict[str, int] = {row.code: row.id for row in work.session.execute(own)}
    chosen = next(iter(ids.values()), None) if code is None else ids.get(code.strip().lower())
    if chosen is None:
        raise Invalid.at("site", f"Name one of your own sites: {', '.join(ids)}.")
    return chosen


@usecase(May.SEE_CASES)
def people_at(work: Work, role: Role, code: str) -> list[Person]:
    """Who holds a role at a site of the actor's, by name; to choose helpers from. Nobody at anybody else's site."""
    rows = work.session.execute(
        sa.select(AccountRow.id, AccountRow.name)
        .join(AccountRoleRow, sa.and_(AccountRoleRow.account_id == AccountRow.id, AccountRoleRow.role == role))
        .join(AccountSiteRow, AccountSiteRow.account_id == AccountRow.id)
        .join(SiteRow, SiteRow.id == AccountSiteRow.site_id)
        .where(SiteRow.code == code, SiteRow.id.in_(work.actor.sites), AccountRow.closed_at.is_(None))
        .order_by(AccountRow.name, AccountRow.id)
    )
    return [Person(**row._mapping) for row in rows]


@usecase(May.MANAGE_ACCOUNTS)
def accounts(work: Work, cursor: str | None = None, limit: int = 50) -> Page[AccountView]:
    """Every account by name, closed ones too."""
    order = (AccountRow.name, AccountRow.id)
    wanted = sa.select(*_ACCOUNT).order_by(*order).limit(limit + 1)
    if cursor is not None:
        wanted = wanted.where(after(order, decode(cursor, (str, int))))
    rows = work.session.execute(wanted).mappings().all()
    shown = _with_roles_and_sites(work, rows[:limit])
    following = encode((shown[-1].name, shown[-1].id)) if len(rows) > limit else None
    return Page(items=shown, next=following)


@usecase(May.MANAGE_ACCOUNTS)
def account(work: Work, account_id: int) -> AccountView:
    """One account; raises NotFound."""
    rows = work.session.execute(sa.select(*_ACCOUNT).where(AccountRow.id == account_id)).mappings().all()
    if not rows:
        raise NotFound("There is no such account.")
    return _with_roles_and_sites(work, rows)[0]


def _with_roles_and_sites(work: Work, rows: Sequence[sa.RowMapping]) -> list[AccountView]:
    ids = [row["id"] for row in rows]
    held = work.session.execute(
        sa.select(AccountRoleRow.account_id, AccountRoleRow.role).where(AccountRoleRow.account_id.in_(ids))
    ).all()
    belongs = work.session.execute(
        sa.select(AccountSiteRow.account_id, SiteRow.code)
        .join(SiteRow, SiteRow.id == AccountSiteRow.site_id)
        .where(AccountSiteRow.account_id.in_(ids))
        .order_by(SiteRow.code)
    ).all()
    return [
        AccountView(
            **row,
            roles=sorted((role for of, role in held if of == row["id"]), key=PEOPLE.index),
            sites=[code for of, code in belongs if of == row["id"]],
        )
        for row in rows
    ]


@usecase(May.KEEP_OWN_ACCOUNT)
def own_sessions(work: Work) -> list[SessionView]:
    """The browsers signed in to the own account, the latest first."""
    live = (SessionRow.ended_at.is_(None), SessionRow.expires_at > work.now)
    rows = work.session.execute(
        sa.select(SessionRow.id, SessionRow.browser, SessionRow.created_at, SessionRow.expires_at)
        .where(SessionRow.account_id == work.actor.account_id, *live)
        .order_by(SessionRow.created_at.desc(), SessionRow.id.desc())
    )
    return [SessionView(**row._mapping, is_current=row.id == work.actor.session_id) for row in rows]


@usecase(May.KEEP_OWN_ACCOUNT)
def own_tokens(work: Work) -> list[TokenView]:
    """The own API tokens that still work, the latest first."""
    rows = work.session.execute(
        sa.select(*_TOKEN)
        .where(TokenRow.account_id == work.actor.account_id, TokenRow.ended_at.is_(None))
        .where(TokenRow.expires_at > work.now)
        .order_by(TokenRow.created_at.desc(), TokenRow.id.desc())
    )
    return [TokenView(**row._mapping) for row in rows]
