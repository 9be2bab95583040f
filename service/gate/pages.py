"""HTML face of the gate: the table of what blocks, and what the trustees of a site recorded."""

from __future__ import annotations

from typing import Any

from fastapi import APIRouter, Request
from fastapi.responses import RedirectResponse, Response

from service.access.permissions import May
from service.access.work import Work
from service.accounts.queries import sites
from service.gate import actions, queries
from service.gate.schemas import EndRule, RecordRule
from service.gate.site_rules import SiteRule
from service.kit.schema import Id
from service.web.edge import reads, writes
from service.web.forms import UNTOUCHED, Posted, command, filled, shown_again
from service.web.render import render

router = APIRouter()


@router.get("/gate")
@reads
def lifts(work: Work, request: Request) -> Response:
    """What stands in the way of a build, and what alone lifts it."""
    may_see = work.actor.can(May.SEE_RULES)
    rules = queries.rules(work) if may_see else []
    return render(request, "gate/table.html", {"lifts": queries.lifts(work), "rules": rules})


@router.get("/site-rules")
@reads
def rules(work: Work, request: Request) -> Response:
    """What the trustees of a site recorded."""
    return render(request, "gate/rules.html", {**_context(work), **UNTOUCHED})


@router.post("/site-rules")
@writes
def record_rule(work: Work, form: Posted) -> Response:
    """Record what trustees decided."""
    with shown_again("gate/rules.html", form, lambda: _context(work)):
        actions.record_rule(work, command(RecordRule, filled(form)))
    return RedirectResponse("/site-rules?done=rule-recorded", 303)


@router.post("/site-rules/{rule_id}/end")
@writes
def end_rule(work: Work, form: Posted, rule_id: Id) -> Response:
    """End a rule."""
    with shown_again("gate/rules.html", form, lambda: _context(work)):
        actions.end_rule(work, rule_id, command(EndRule, filled(form)))
    return RedirectResponse("/site-rules?done=rule-ended", 303)


def _context(work: Work) -> dict[str, Any]:
    return {
        "rules": queries.rules(work),
        "sites": [(each.code, each.name) for each in sites(work)],
        "kinds": [(each.value, each.label) for each in SiteRule],
    }
