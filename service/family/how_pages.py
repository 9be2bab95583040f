"""The page on which a family says how it goes: whether it is used, then a few short questions. A choice is a tap."""

from __future__ import annotations

from typing import Annotated, Any

from fastapi import APIRouter, Query, Request
from fastapi.responses import Response

from service.access.work import Work
from service.family.door import Door, by_link
from service.family.how_words import HOURS, PAINS, RECOMMEND, USED_FOR, WHO, WHY_NOT
from service.kit.schema import Id
from service.outcomes.actions import record_follow_up
from service.outcomes.posted import follow_up_values
from service.outcomes.queries import open_asks
from service.outcomes.rules import Outcome
from service.outcomes.schemas import RecordFollowUp
from service.web.edge import writes
from service.web.forms import UNTOUCHED, Posted, command, filled, shown_again
from service.web.render import render

router = APIRouter(prefix="/family/{token}")

SKIPPED = "skipped"
USED = ("true", "false", SKIPPED)

Chosen = Annotated[str | None, Query(max_length=10)]


@router.get("/how")
@writes
@by_link
def how(work: Work, request: Request, door: Door, device: Id | None = None, used: Chosen = None) -> Response:
    """Which device, whether it is used, then the rest; nothing where nothing is asked."""
    return render(request, "family/how.html", {**_asked(work, door, device, used), **UNTOUCHED})


@router.post("/how")
@writes
@by_link
def say_how(work: Work, request: Request, door: Door, form: Posted) -> Response:
    """Keep what they say; what to do comes first where it hurts."""
    with shown_again("family/how.html", form, lambda: _again(work, door, filled(form))):
        given = {name: text for name, text in filled(form).items() if text != SKIPPED}
        made = record_follow_up(work, door.family.case_number, command(RecordFollowUp, follow_up_values(given)))
    context = {
        "advice": made.advice,
        "declined": made.outcome is Outcome.DECLINED,
        "stopped": made.used is False,
        "more": bool(open_asks(work, door.family.case_number)),
    }
    return render(request, "family/how_said.html", door.context(**context), status=201)


def _asked(work: Work, door: Door, device: int | None, used: str | None) -> dict[str, Any]:
    asks = open_asks(work, door.family.case_number)
    chosen = next((each for each in asks if each.device == device), asks[0] if len(asks) == 1 else None)
    return door.context(
        asks=asks,
        ask=chosen,
        used=used if used in USED else None,
        who=WHO,
        why_not=WHY_NOT,
        pains=PAINS,
        used_for=[(each.value, door.words(said)) for each, said in USED_FOR.items()],
        recommend=RECOMMEND,
        hours=HOURS,
    )


def _again(work: Work, door: Door, given: dict[str, str]) -> dict[str, Any]:
    device = given.get("device", "")
    number = int(device) if device.isdecimal() and len(device) < len(str(2**31)) else None
    return _asked(work, door, number, given.get("used", SKIPPED))
