"""HTML face of signing in, the own account and, for administrators, accounts and sites."""

from __future__ import annotations

from datetime import timedelta
from typing import Any

from fastapi import APIRouter, Request
from fastapi.responses import RedirectResponse, Response
from starlette.datastructures import FormData

from service.access.permissions import PEOPLE, May
from service.access.work import Work
from service.accounts import actions, queries
from service.accounts.rules import local_path
from service.accounts.schemas import (
    AccountView,
    AddAccount,
    AddSite,
    ChangeAccount,
    ChangePassword,
    ChangeSite,
    IssueToken,
    NotRight,
    SignIn,
    SiteView,
)
from service.kit.paging import Cursor
from service.kit.schema import Id
from service.web.edge import frame, reads, writes
from service.web.form_token import SESSION_COOKIE
from service.web.forms import UNTOUCHED, Posted, command, filled, shown_again
from service.web.render import render

router = APIRouter()

SIGN_IN = "accounts/sign_in.html"
OWN = "accounts/own.html"
ACCOUNT = "accounts/account.html"
SITE = "accounts/site.html"
RISKS_OFFERED = {0.02, 0.05, 0.1, 0.2, 0.3}


@router.get("/")
@reads
def home(work: Work) -> Response:
    """Lead everybody to where their day starts."""
    if not work.actor.is_person:
        return RedirectResponse("/sign-in", 303)
    starts = (("/work-list", May.SEE_CASES), ("/outcomes", May.SEE_FIGURES))
    return RedirectResponse(next((page for page, may in starts if work.actor.can(may)), "/account"), 303)


@router.get("/sign-in")
@reads
def sign_in_form(work: Work, request: Request) -> Response:
    """Ask who is there; whoever is signed in already goes on."""
    onward = local_path(request.query_params.get("next"))
    if work.actor.is_person:
        return RedirectResponse(onward or "/", 303)
    return render(request, SIGN_IN, {**UNTOUCHED, "onward": onward})


@router.post("/sign-in")
@writes
def sign_in(work: Work, request: Request, form: Posted) -> Response:
    """Sign in, and go on to the page that was asked for if it is one of ours."""
    onward = local_path(_text(form, "next"))
    with shown_again(SIGN_IN, form, lambda: {"onward": onward}):
        answer = actions.sign_in(work, _who_signs_in(form), **_visitor(request))
    if isinstance(answer, NotRight):
        return _not_right(request, SIGN_IN, form, answer, {"onward": onward})
    return _with_cookie(RedirectResponse(onward or "/", 303), request, answer.cookie)


@router.post("/sign-out")
@writes
def sign_out(work: Work, _form: Posted) -> Response:
    """Sign this browser out."""
    actions.sign_out(work)
    answer = RedirectResponse("/sign-in?done=signed-out", 303)
    answer.delete_cookie(SESSION_COOKIE)
    return answer


@router.get("/account")
@reads
def own_account(work: Work, request: Request) -> Response:
    """The own password, browsers and tokens."""
    return render(request, OWN, {**_own(work), **UNTOUCHED})


@router.post("/account/password")
@writes
def change_password(work: Work, request: Request, form: Posted) -> Response:
    """Change the own password."""
    with shown_again(OWN, form, lambda: _own(work)):
        wrong = actions.change_password(work, command(ChangePassword, filled(form)))
    if wrong is not None:
        return _not_right(request, OWN, form, wrong, _own(work))
    return RedirectResponse("/account?done=password-changed", 303)


@router.post("/account/sessions/{session_id}/end")
@writes
def end_session(work: Work, session_id: Id, _form: Posted) -> Response:
    """Sign out one of the own browsers."""
    actions.end_session(work, session_id)
    return RedirectResponse("/account?done=session-ended", 303)


@router.post("/account/tokens")
@writes
def issue_token(work: Work, request: Request, form: Posted) -> Response:
    """Issue a token. The answer is a page and no redirect: its text is shown this once."""
    with shown_again(OWN, form, lambda: _own(work)):
        issued = actions.issue_token(work, command(IssueToken, filled(form)))
    return render(request, OWN, {**_own(work), **UNTOUCHED, "issued": issued})


@router.post("/account/tokens/{token_id}/end")
@writes
def end_token(work: Work, token_id: Id, _form: Posted) -> Response:
    """End one of the own tokens."""
    actions.end_token(work, token_id)
    return RedirectResponse("/account?done=token-ended", 303)


@router.get("/accounts")
@reads
def accounts(work: Work, request: Request, cursor: Cursor = None) -> Response:
    """Who can sign in, and where the charity works."""
    sites = queries.every_site(work)
    names = {site.code: site.name for site in sites}
    context = {"page": queries.accounts(work, cursor), "cursor": cursor, "sites": sites, "site_names": names}
    return render(request, "accounts/list.html", context)


@router.get("/accounts/new")
@reads
def add_account_form(work: Work, request: Request) -> Response:
    """The empty form for an account."""
    return render(request, ACCOUNT, {**_account(work), **UNTOUCHED})


@router.post("/accounts/new")
@writes
def add_account(work: Work, form: Posted) -> Response:
    """Open an account."""
    with shown_again(ACCOUNT, form, lambda: _account(work)):
        actions.add_account(work, command(AddAccount, _several(form)))
    return RedirectResponse("/accounts?done=account-added", 303)


@router.get("/accounts/{account_id}")
@reads
def account_form(work: Work, request: Request, account_id: Id) -> Response:
    """An account, to change or close."""
    return render(request, ACCOUNT, {**_account(work, queries.account(work, account_id)), **UNTOUCHED})


@router.post("/accounts/{account_id}")
@writes
def change_account(work: Work, account_id: Id, form: Posted) -> Response:
    """Change an account."""
    with shown_again(ACCOUNT, form, lambda: _account(work, queries.account(work, account_id))):
        actions.change_account(work, account_id, command(ChangeAccount, _several(form)))
    return RedirectResponse("/accounts?done=account-changed", 303)


@router.post("/accounts/{account_id}/access")
@writes
def close_or_reopen_account(work: Work, account_id: Id, form: Posted) -> Response:
    """Close an account, or open it again."""
    with shown_again(ACCOUNT, form, lambda: _account(work, queries.account(work, account_id))):
        changed = actions.change_account(work, account_id, command(ChangeAccount, filled(form)))
    return RedirectResponse(f"/accounts?done=account-{'closed' if changed.closed_at else 'reopened'}", 303)


@router.get("/new-site")
@reads
def add_site_form(work: Work, request: Request) -> Response:
    """The empty form for a site."""
    return render(request, SITE, {**_site(work), **UNTOUCHED})


@router.post("/new-site")
@writes
def add_site(work: Work, form: Posted) -> Response:
    """Add a site."""
    with shown_again(SITE, form, lambda: _site(work)):
        actions.add_site(work, command(AddSite, filled(form)))
    return RedirectResponse("/accounts?done=site-added", 303)


@router.get("/sites/{code}")
@reads
def site_form(work: Work, request: Request, code: str) -> Response:
    """A site, to change."""
    return render(request, SITE, {**_site(work, queries.site(work, code)), **UNTOUCHED})


@router.post("/sites/{code}")
@writes
def change_site(work: Work, code: str, form: Posted) -> Response:
    """Change a site; an emptied note is taken away."""
    with shown_again(SITE, form, lambda: _site(work, queries.site(work, code))):
        actions.change_site(work, code, command(ChangeSite, {"note": "", **filled(form)}))
    return RedirectResponse("/accounts?done=site-changed", 303)


def _own(work: Work) -> dict[str, Any]:
    me = queries.me(work)
    return {
        "me": me,
        "browsers": queries.own_sessions(work),
        "tokens": queries.own_tokens(work),
        "role_choices": [(role.value, role.label.capitalize()) for role in me.roles],
        "issued": None,
    }


def _account(work: Work, account: AccountView | None = None) -> dict[str, Any]:
    return {
        "account": account,
        "standing": _standing(account) if account else {},
        "role_choices": [(role.value, role.label.capitalize()) for role in PEOPLE],
        "site_choices": [(site.code, site.name) for site in queries.every_site(work)],
    }


def _standing(account: AccountView) -> dict[str, str]:
    """An account as if somebody had typed it into the form."""
    chosen = {f"roles-{role}": role.value for role in account.roles} | {f"sites-{code}": code for code in account.sites}
    return {"name": account.name, "email": account.email, **chosen}


def _site(work: Work, site: SiteView | None = None) -> dict[str, Any]:
    offered = {*RISKS_OFFERED, site.tight_risk} if site else RISKS_OFFERED
    risks = [(risk, f"{100 * risk:g} in 100") for risk in sorted(offered)]
    towns = [(each.id, each.name) for each in queries.towns(work)]
    return {"site": site, "sites": queries.every_site(work), "risk_choices": risks, "towns": towns}


def _several(form: FormData) -> dict[str, Any]:
    """The fields of the account form, its ticked boxes (`roles-…`, `sites-…`) gathered into lists."""
    values: dict[str, Any] = {"roles": [], "sites": []}
    for name, value in filled(form).items():
        group, _, ticked = name.partition("-")
        if ticked and group in {"roles", "sites"}:
            values[group].append(value)
        else:
            values[name] = value
    return values


def _who_signs_in(form: FormData) -> SignIn:
    return command(SignIn, {"email": _text(form, "email"), "password": _text(form, "password")})


def _text(form: FormData, field: str) -> str:
    value = form.get(field)
    return value if isinstance(value, str) else ""


def _visitor(request: Request) -> dict[str, Any]:
    return {
        "host": request.client.host if request.client else "",
        "user_agent": request.headers.get("User-Agent", ""),
        "lasts": timedelta(days=frame(request).settings.session_days),
    }


def _not_right(request: Request, template: str, form: FormData, wrong: NotRight, context: dict[str, Any]) -> Response:
    """The form again, like `shown_again`, but returned: what was counted must be stored."""
    again = {"typed": filled(form), "problems": {wrong.field: wrong.message}}
    return render(request, template, {**context, **UNTOUCHED, **again}, status=422)


def _with_cookie(answer: Response, request: Request, cookie: str) -> Response:
    settings = frame(request).settings
    answer.set_cookie(
        SESSION_COOKIE,
        cookie,
        max_age=settings.session_days * 24 * 60 * 60,
        httponly=True,
        samesite="lax",
        secure=settings.secure_cookies,
    )
    return answer
