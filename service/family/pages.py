"""The pages of a family, behind its link: one question a page, no script needed."""

# ruff: noqa: FAST003 the token is taken at the door

from __future__ import annotations

from fastapi import APIRouter, Request
from fastapi.responses import Response
from starlette.datastructures import FormData

from service.access.work import Work
from service.family import actions
from service.family.door import Door, by_link, closed, let_in
from service.family.rules import NOTICE_ANSWERS, STOPPED, STOPS, SaidKind, answer_by
from service.family.schemas import Closed, GiveBirth, Say, Stop
from service.kit.errors import Invalid
from service.notices.queries import own_notices
from service.outcomes.queries import open_asks
from service.safety.actions import raise_concern, report_skin
from service.safety.limits import skin_limits
from service.safety.rules import MAY_NOT_SHOW, PLAN_FIRST, SIGNS, SKIN, minutes_of
from service.safety.schemas import RaiseConcern, ReportSkin, SkinReported
from service.web.edge import writes
from service.web.forms import UNTOUCHED, Posted, command, filled, shown_again
from service.web.render import render

router = APIRouter(prefix="/family")


@router.get("/{token}")
@writes
@by_link
def home(work: Work, request: Request, door: Door) -> Response:
    """What there is to say and to ask; before it, what may not be safe on a device of theirs."""
    asked = bool(open_asks(work, door.family.case_number))
    context = door.context(notices=own_notices(work), told=NOTICE_ANSWERS, asked=asked)
    return render(request, "family/home.html", context)


@router.post("/{token}")
@writes
def show_who(work: Work, request: Request, token: str, form: Posted) -> Response:
    """Give the month and year of birth, once in each browser."""
    return let_in(work, request, token, lambda: _birth(form))


@router.get("/{token}/skin")
@writes
@by_link
def skin_form(_work: Work, request: Request, door: Door) -> Response:
    """What is seen or felt where the device was."""
    return render(request, "family/skin.html", door.context(**_signs(door), **UNTOUCHED))


@router.post("/{token}/skin")
@writes
@by_link
def tell_skin(work: Work, request: Request, door: Door, form: Posted) -> Response:
    """Tell it; what to do is said first."""
    with shown_again("family/skin.html", form, lambda: door.context(**_signs(door))):
        asked = command(ReportSkin, _seen(form))
        made = report_skin(work, door.family.case_number, asked, skin_limits(door.settings))
    context = {"say": SKIN[made.seen].say, "then": _then(door, made), "plan_first": PLAN_FIRST}
    return render(request, "family/skin_said.html", door.context(**context), status=201)


@router.get("/{token}/say")
@writes
@by_link
def say_form(_work: Work, request: Request, door: Door, kind: SaidKind | None = None) -> Response:
    """Thanks, stop, a question about data, a lost link."""
    return render(request, "family/say.html", door.context(kind=kind, **UNTOUCHED))


@router.post("/{token}/say")
@writes
@by_link
def say(work: Work, request: Request, door: Door, form: Posted) -> Response:
    """Say it."""
    with shown_again("family/say.html", form, lambda: door.context(kind=None)):
        said = command(Say, filled(form))
        actions.say(work, said)
    by = door.words.day(answer_by(work.today))
    return render(request, "family/said.html", door.context(kind=said.kind, by=by), status=201)


@router.get("/{token}/stop")
@writes
@by_link
def stop_form(work: Work, request: Request, door: Door) -> Response:
    """What they would take back of what they agreed to."""
    return render(request, "family/stop.html", door.context(agreed=actions.may_stop(work), stops=STOPS, **UNTOUCHED))


@router.post("/{token}/stop")
@writes
@by_link
def stop(work: Work, request: Request, door: Door, form: Posted) -> Response:
    """Take it back, and say what follows."""
    with shown_again("family/stop.html", form, lambda: door.context(agreed=actions.may_stop(work), stops=STOPS)):
        asked = command(Stop, _stopped(form))
        actions.stop(work, asked)
    return render(
        request, "family/stopped.html", door.context(said=[STOPPED[each] for each in asked.purposes]), status=201
    )


@router.get("/{token}/worry")
@writes
@by_link
def worry_form(_work: Work, request: Request, door: Door) -> Response:
    """A worry about somebody, for the safeguarding lead alone."""
    return render(request, "family/worry.html", door.context(**UNTOUCHED))


@router.post("/{token}/worry")
@writes
@by_link
def worry(work: Work, request: Request, door: Door, form: Posted) -> Response:
    """Pass a worry on."""
    with shown_again("family/worry.html", form, door.context):
        raise_concern(work, command(RaiseConcern, {"about": "said by the family", **filled(form)}))
    return render(request, "family/worry_said.html", door.context(), status=201)


@router.get("/{token}/{rest:path}")
def nothing_here(request: Request, token: str, rest: str) -> Response:  # noqa: ARG001 any of either is answered alike
    """Any other address below a link: the same answer as for a wrong one."""
    return closed(request, Closed())


def _stopped(form: FormData) -> dict[str, object]:
    given = filled(form)
    purposes = [each.value for each in STOPS if f"purposes-{each}" in given]
    return {"purposes": purposes, "words": given.get("words", "")}


def _birth(form: FormData) -> GiveBirth | None:
    try:
        return command(GiveBirth, filled(form))
    except Invalid:
        return None


def _signs(door: Door) -> dict[str, object]:
    limits = skin_limits(door.settings)
    said = [(sign.value, door.words(words, minutes=minutes_of(sign, limits))) for sign, (_, words) in SIGNS.items()]
    return {"signs": said, "may_not_show": MAY_NOT_SHOW, "plan_first": PLAN_FIRST}


def _then(door: Door, made: SkinReported) -> str:
    """What the charity does, in the family's language; by a day where somebody looks at it."""
    by = made.review_due_on
    return door.words(SKIN[made.seen].then, **({"day": door.words.day(by)} if by else {}))


def _seen(form: FormData) -> dict[str, object]:
    given = filled(form)
    return {"signs": [sign.value for sign in SIGNS if f"signs-{sign}" in given], "words": given.get("words", "")}
