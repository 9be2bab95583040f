"""REST face of the own account, sites, tokens and, for administrators, accounts."""

from __future__ import annotations

from fastapi import APIRouter

from service.access.work import Work
from service.accounts import actions, queries
from service.accounts.schemas import (
    AccountView,
    AddAccount,
    AddSite,
    AddTown,
    ChangeAccount,
    ChangeSite,
    ChangeTown,
    MeView,
    SiteView,
    TokenView,
    TownView,
)
from service.kit.paging import Cursor, Limit, Page
from service.kit.schema import Id
from service.web.edge import reads, writes

router = APIRouter(tags=["accounts"])


@router.get("/me")
@reads
def me(work: Work) -> MeView:
    """Whose token this is, and the roles it acts with."""
    return queries.me(work)


@router.get("/sites")
@reads
def sites(work: Work) -> Page[SiteView]:
    """Your sites; all sites for administrators. There are few, so there is one page."""
    return Page(items=queries.sites(work))


@router.post("/sites", status_code=201)
@writes
def add_site(work: Work, command: AddSite) -> SiteView:
    """Add a branch or partner clinic (administrators)."""
    return actions.add_site(work, command)


@router.patch("/sites/{code}")
@writes
def change_site(work: Work, code: str, command: ChangeSite) -> SiteView:
    """Change a site's name, lead time, accepted risk or note (administrators); what is not given stays."""
    return actions.change_site(work, code, command)


@router.get("/towns")
@reads
def towns(work: Work) -> Page[TownView]:
    """The towns that are recorded, by name; there is one page."""
    return Page(items=queries.towns(work))


@router.post("/towns", status_code=201)
@writes
def add_town(work: Work, command: AddTown) -> TownView:
    """Record a town, once (coordinators, administrators)."""
    return actions.add_town(work, command)


@router.patch("/towns/{town}")
@writes
def change_town(work: Work, town: Id, command: ChangeTown) -> TownView:
    """Put a town right; what is not given stays."""
    return actions.change_town(work, town, command)


@router.get("/tokens")
@reads
def tokens(work: Work) -> Page[TokenView]:
    """Your own tokens that still work, without their text; there is one page."""
    return Page(items=queries.own_tokens(work))


@router.delete("/tokens/{token_id}")
@writes
def end_token(work: Work, token_id: Id) -> TokenView:
    """End one of your own tokens. It stays known as ended."""
    return actions.end_token(work, token_id)


@router.get("/accounts")
@reads
def accounts(work: Work, cursor: Cursor = None, limit: Limit = 50) -> Page[AccountView]:
    """List accounts by name (administrators)."""
    return queries.accounts(work, cursor, limit)


@router.post("/accounts", status_code=201)
@writes
def add_account(work: Work, command: AddAccount) -> AccountView:
    """Open an account (administrators)."""
    return actions.add_account(work, command)


@router.get("/accounts/{account_id}")
@reads
def account(work: Work, account_id: Id) -> AccountView:
    """One account (administrators)."""
    return queries.account(work, account_id)


@router.patch("/accounts/{account_id}")
@writes
def change_account(work: Work, account_id: Id, command: ChangeAccount) -> AccountView:
    """Change, close (`closed`: true) or reopen an account (administrators); what is not given stays."""
    return actions.change_account(work, account_id, command)
