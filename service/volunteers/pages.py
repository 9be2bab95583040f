"""HTML face of volunteers: a list for those who keep them, and a page somebody keeps in a minute on a phone."""

from __future__ import annotations

from collections.abc import Callable
from typing import Annotated, Any
from urllib.parse import urlencode

from fastapi import APIRouter, Query, Request
from fastapi.responses import RedirectResponse, Response
from pydantic import BaseModel
from starlette.datastructures import FormData

from service.access.permissions import May, Role
from service.access.work import Work
from service.accounts.queries import people_at, sites, towns
from service.kit.schema import Id
from service.volunteers import actions, queries
from service.volunteers.rules import Skill, VettingKind
from service.volunteers.schemas import (
    AddAbsence,
    AddPrinter,
    AddStock,
    AddTraining,
    AddVetting,
    AddVisit,
    AddVolunteer,
    ChangePrinter,
    ChangeStock,
    ChangeVolunteer,
    VolunteerFilter,
    VolunteerView,
)
from service.web.edge import reads, writes
from service.web.forms import UNTOUCHED, Posted, command, filled, shown_again
from service.web.render import render

router = APIRouter()

ONE = "volunteers/volunteer.html"
NEW = "volunteers/new.html"
_NUMBERS = {"hours_a_week", "travels_km", "grams", "width_mm", "depth_mm", "height_mm", "nozzle_mm"}


@router.get("/volunteering")
@reads
def own_page(work: Work, request: Request) -> Response:
    """What the actor has, where they are away, and their hours; or that nobody has recorded them yet."""
    own = queries.own_volunteering(work)
    if own is None:
        return render(request, "volunteers/unrecorded.html", {})
    return render(request, ONE, {**_context(work, own), **UNTOUCHED})


@router.get("/volunteers")
@reads
def volunteers(work: Work, request: Request, wanted: Annotated[VolunteerFilter, Query()]) -> Response:
    """Volunteers of the actor's sites by name."""
    page = queries.volunteers(work, wanted)
    older = None
    if page.next is not None:
        older = "?" + urlencode({**wanted.model_dump(mode="json", exclude_none=True), "cursor": page.next})
    context = {"found": page.items, "wanted": wanted, "older": older, "first": wanted.cursor is None}
    return render(request, "volunteers/list.html", context)


@router.get("/volunteers/new")
@reads
def new_form(work: Work, request: Request) -> Response:
    """The form for a new volunteer."""
    return render(request, NEW, {**_new_context(work), **UNTOUCHED})


@router.post("/volunteers/new")
@writes
def add_volunteer(work: Work, form: Posted) -> Response:
    """Record a volunteer."""
    with shown_again(NEW, form, lambda: _new_context(work)):
        added = actions.add_volunteer(work, command(AddVolunteer, _values(form)))
    return RedirectResponse(f"/volunteers/{added.id}?done=volunteer-recorded", 303)


@router.get("/volunteers/{volunteer}")
@reads
def volunteer(work: Work, request: Request, volunteer: Id) -> Response:
    """A volunteer."""
    return render(request, ONE, {**_context(work, queries.volunteer(work, volunteer)), **UNTOUCHED})


@router.post("/volunteers/{volunteer}/right")
@writes
def still_right(work: Work, volunteer: Id, _form: Posted) -> Response:
    """It is right as it is."""
    return _back(actions.still_right(work, volunteer), "volunteer-right")


@router.post("/volunteers/{volunteer}/hours")
@writes
def change_hours(work: Work, volunteer: Id, form: Posted) -> Response:
    """How much time somebody has, and how far they go."""
    return _record(work, volunteer, form, ChangeVolunteer, actions.change_volunteer)


@router.post("/volunteers/{volunteer}/contact")
@writes
def change_contact(work: Work, volunteer: Id, form: Posted) -> Response:
    """Who they are and how to reach them; what is emptied is taken away, the name apart."""
    given = {"email": "", "phone": "", **filled(form)}
    with shown_again(ONE, form, lambda: _context(work, queries.volunteer(work, volunteer))):
        return _back(actions.change_volunteer(work, volunteer, command(ChangeVolunteer, given)))


@router.post("/volunteers/{volunteer}/printers")
@writes
def add_printer(work: Work, volunteer: Id, form: Posted) -> Response:
    """Add a printer."""
    return _record(work, volunteer, form, AddPrinter, actions.add_printer)


@router.post("/volunteers/{volunteer}/printers/{printer}")
@writes
def change_printer(work: Work, volunteer: Id, printer: Id, form: Posted) -> Response:
    """Say that a printer works, is out of order, or is gone."""
    return _record(work, volunteer, form, ChangePrinter, lambda w, v, c: actions.change_printer(w, v, printer, c))


@router.post("/volunteers/{volunteer}/materials")
@writes
def add_stock(work: Work, volunteer: Id, form: Posted) -> Response:
    """Add material."""
    return _record(work, volunteer, form, AddStock, actions.add_stock)


@router.post("/volunteers/{volunteer}/materials/{stock}")
@writes
def change_stock(work: Work, volunteer: Id, stock: Id, form: Posted) -> Response:
    """Say that material is gone."""
    return _record(work, volunteer, form, ChangeStock, lambda w, v, c: actions.change_stock(w, v, stock, c))


@router.post("/volunteers/{volunteer}/absences")
@writes
def add_absence(work: Work, volunteer: Id, form: Posted) -> Response:
    """Add days away."""
    return _record(work, volunteer, form, AddAbsence, actions.add_absence)


@router.post("/volunteers/{volunteer}/absences/{absence}/end")
@writes
def end_absence(work: Work, volunteer: Id, absence: Id, _form: Posted) -> Response:
    """They are there after all."""
    return _back(actions.end_absence(work, volunteer, absence))


@router.post("/volunteers/{volunteer}/trainings")
@writes
def add_training(work: Work, volunteer: Id, form: Posted) -> Response:
    """Add a training."""
    return _record(work, volunteer, form, AddTraining, actions.add_training)


@router.post("/volunteers/{volunteer}/vettings")
@writes
def add_vetting(work: Work, volunteer: Id, form: Posted) -> Response:
    """Add a vetting."""
    return _record(work, volunteer, form, AddVetting, actions.add_vetting)


@router.post("/volunteers/{volunteer}/vettings/{vetting}/end")
@writes
def end_vetting(work: Work, volunteer: Id, vetting: Id, _form: Posted) -> Response:
    """A vetting counts no more."""
    return _back(actions.end_vetting(work, volunteer, vetting))


@router.post("/volunteers/{volunteer}/visits")
@writes
def add_visit(work: Work, volunteer: Id, form: Posted) -> Response:
    """Record a visit."""
    with shown_again(ONE, form, lambda: _context(work, queries.volunteer(work, volunteer))):
        actions.add_visit(work, volunteer, command(AddVisit, _values(form)))
    return _back(queries.volunteer(work, volunteer))


def _record(
    work: Work, volunteer_id: int, form: FormData, kind: type[BaseModel], act: Callable[[Work, int, Any], VolunteerView]
) -> Response:
    with shown_again(ONE, form, lambda: _context(work, queries.volunteer(work, volunteer_id))):
        return _back(act(work, volunteer_id, command(kind, _values(form))))


def _back(kept: VolunteerView, done: str = "volunteer-kept") -> Response:
    where = "/volunteering" if kept.is_own else f"/volunteers/{kept.id}"
    return RedirectResponse(f"{where}?done={done}", 303)


def _context(work: Work, found: VolunteerView) -> dict[str, Any]:
    keeps = found.is_own or work.actor.can(May.KEEP_VOLUNTEERS)
    return {
        "volunteer": found,
        "keeps": keeps,
        "visits": queries.visits(work, found.id),
        "towns": [(each.id, each.name) for each in towns(work)],
        "skills": [(each.value, each.label) for each in Skill],
        "vetting_kinds": [(each.value, each.label) for each in VettingKind],
    }


def _new_context(work: Work) -> dict[str, Any]:
    actions.may_add_volunteers(work)
    mine = sites(work)
    people = [(each.id, each.name) for site in mine for each in people_at(work, Role.VOLUNTEER, site.code)]
    return {
        "sites": [(each.code, each.name) for each in mine],
        "towns": [(each.id, each.name) for each in towns(work)],
        "people": list(dict.fromkeys(people)),
    }


def _values(form: FormData) -> dict[str, Any]:
    """What was posted, numbers as many people write them, what a printer prints well as a list."""
    values: dict[str, Any] = {
        name: value.replace(",", ".") if name in _NUMBERS else value for name, value in filled(form).items()
    }
    if "materials" in values:
        values["materials"] = [each.strip() for each in values["materials"].split(",") if each.strip()]
    return values
