"""REST face of volunteers."""

from __future__ import annotations

from typing import Annotated

from fastapi import APIRouter, Query

from service.access.work import Work
from service.kit.paging import Page
from service.kit.schema import Id
from service.volunteers import actions, queries
from service.volunteers.schemas import (
    AbsenceView,
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
    PrinterView,
    StockView,
    TrainingView,
    VettingView,
    VisitView,
    VolunteerFilter,
    VolunteerLine,
    VolunteerView,
)
from service.web.edge import reads, writes

router = APIRouter(prefix="/volunteers", tags=["volunteers"])


@router.post("", status_code=201)
@writes
def add_volunteer(work: Work, command: AddVolunteer) -> VolunteerView:
    """Record somebody who makes or fits (coordinators)."""
    return actions.add_volunteer(work, command)


@router.get("")
@reads
def volunteers(work: Work, wanted: Annotated[VolunteerFilter, Query()]) -> Page[VolunteerLine]:
    """Volunteers of your sites by name; how far they are from the site is rounded to 5 km."""
    return queries.volunteers(work, wanted)


@router.get("/{volunteer}")
@reads
def volunteer(work: Work, volunteer: Id) -> VolunteerView:
    """One volunteer; what is private is null unless it is you or you coordinate their site."""
    return queries.volunteer(work, volunteer)


@router.patch("/{volunteer}")
@writes
def change_volunteer(work: Work, volunteer: Id, command: ChangeVolunteer) -> VolunteerView:
    """Put right what is known of a volunteer; what is left out stays."""
    return actions.change_volunteer(work, volunteer, command)


@router.post("/{volunteer}/printers", status_code=201)
@writes
def add_printer(work: Work, volunteer: Id, command: AddPrinter) -> PrinterView:
    """Record a printer."""
    return actions.add_printer(work, volunteer, command).printer_list[-1]


@router.get("/{volunteer}/printers")
@reads
def printers(work: Work, volunteer: Id) -> Page[PrinterView]:
    """A volunteer's printers, but for those that are gone; there is one page."""
    return Page(items=queries.volunteer(work, volunteer).printer_list)


@router.patch("/{volunteer}/printers/{printer}")
@writes
def change_printer(work: Work, volunteer: Id, printer: Id, command: ChangePrinter) -> VolunteerView:
    """Put right what is known of a printer, or its state."""
    return actions.change_printer(work, volunteer, printer, command)


@router.post("/{volunteer}/materials", status_code=201)
@writes
def add_stock(work: Work, volunteer: Id, command: AddStock) -> StockView:
    """Record material on hand, by its lot where it is known."""
    return actions.add_stock(work, volunteer, command).stock[-1]


@router.get("/{volunteer}/materials")
@reads
def stock(work: Work, volunteer: Id) -> Page[StockView]:
    """The material a volunteer has on hand; there is one page."""
    return Page(items=queries.volunteer(work, volunteer).stock)


@router.patch("/{volunteer}/materials/{stock}")
@writes
def change_stock(work: Work, volunteer: Id, stock: Id, command: ChangeStock) -> VolunteerView:
    """Say how much is left, or that it is gone."""
    return actions.change_stock(work, volunteer, stock, command)


@router.post("/{volunteer}/absences", status_code=201)
@writes
def add_absence(work: Work, volunteer: Id, command: AddAbsence) -> AbsenceView:
    """Record days away, the first and the last."""
    return max(actions.add_absence(work, volunteer, command).absences, key=lambda each: each.id)


@router.get("/{volunteer}/absences")
@reads
def absences(work: Work, volunteer: Id) -> Page[AbsenceView]:
    """The absences that are not over, the earliest first; there is one page."""
    return Page(items=queries.volunteer(work, volunteer).absences)


@router.delete("/{volunteer}/absences/{absence}")
@writes
def end_absence(work: Work, volunteer: Id, absence: Id) -> VolunteerView:
    """Take days away back."""
    return actions.end_absence(work, volunteer, absence)


@router.post("/{volunteer}/trainings", status_code=201)
@writes
def add_training(work: Work, volunteer: Id, command: AddTraining) -> TrainingView:
    """Record what somebody was trained for (coordinators)."""
    return max(actions.add_training(work, volunteer, command).trainings, key=lambda each: each.id)


@router.get("/{volunteer}/trainings")
@reads
def trainings(work: Work, volunteer: Id) -> Page[TrainingView]:
    """What a volunteer is trained for; there is one page."""
    return Page(items=queries.volunteer(work, volunteer).trainings)


@router.post("/{volunteer}/vettings", status_code=201)
@writes
def add_vetting(work: Work, volunteer: Id, command: AddVetting) -> VettingView:
    """Record a safeguarding check; its review is due by policy (coordinators, safeguarding leads)."""
    return max(actions.add_vetting(work, volunteer, command).vettings or [], key=lambda each: each.id)


@router.get("/{volunteer}/vettings")
@reads
def vettings(work: Work, volunteer: Id) -> Page[VettingView]:
    """A volunteer's vettings, for those who keep them and the volunteer; for others there are none to see."""
    return Page(items=queries.volunteer(work, volunteer).vettings or [])


@router.post("/{volunteer}/vettings/{vetting}/end")
@writes
def end_vetting(work: Work, volunteer: Id, vetting: Id) -> VolunteerView:
    """Record that a vetting counts no more from today."""
    return actions.end_vetting(work, volunteer, vetting)


@router.post("/{volunteer}/visits", status_code=201)
@writes
def add_visit(work: Work, volunteer: Id, command: AddVisit) -> VisitView:
    """Record a visit that was made, and which guardian was there."""
    return max(actions.add_visit(work, volunteer, command), key=lambda each: each.id)


@router.get("/{volunteer}/visits")
@reads
def visits(work: Work, volunteer: Id) -> Page[VisitView]:
    """The visits of a volunteer to cases you may see, the latest first; at most 200."""
    return Page(items=queries.visits(work, volunteer))
