"""Commands and views of volunteers."""

from __future__ import annotations

from datetime import date, datetime
from typing import Annotated

from pydantic import ConfigDict, Field

from service.kit.paging import Listing
from service.kit.schema import Command, Day, Id, Line, Text, View
from service.recipients.schemas import Language
from service.volunteers.rules import PrinterState, Skill, VettingKind

Hours = Annotated[float, Field(ge=0, le=168)]
Jobs = Annotated[int, Field(ge=0, le=50)]
Kilometres = Annotated[float, Field(ge=0, le=2000)]
Edge = Annotated[float, Field(gt=0, le=2000)]
Nozzle = Annotated[float, Field(ge=0.1, le=2)]
Grams = Annotated[float, Field(ge=0, le=100_000)]
Languages = Annotated[list[Language], Field(max_length=20)]
Materials = Annotated[list[Line], Field(min_length=1, max_length=20)]


class AddVolunteer(Command):
    """Somebody who makes or fits. `account` is how they sign in, if they do; `town` is the id of a town."""

    model_config = ConfigDict(
        json_schema_extra={
            "example": {"name": "Joost Adeyemi", "email": "joost@example.org", "hours_a_week": 4, "travels_km": 20}
        }
    )

    name: Line
    site: Text | None = None
    account: Id | None = None
    town: Id | None = None
    email: Text = ""
    phone: Text = ""
    languages: Languages = Field(default=["en"])
    hours_a_week: Hours = 3.0
    jobs_at_once: Jobs = 2
    travels_km: Kilometres = 0.0
    note: Text = ""
    since: Day | None = None


class ChangeVolunteer(Command):
    """New particulars of a volunteer; what is left out stays. `left_on` is the day they left; null is not yet."""

    model_config = ConfigDict(json_schema_extra={"example": {"hours_a_week": 2.5, "jobs_at_once": 1}})

    name: Line | None = None
    account: Id | None = None
    town: Id | None = None
    email: Text | None = None
    phone: Text | None = None
    languages: Languages | None = None
    hours_a_week: Hours | None = None
    jobs_at_once: Jobs | None = None
    travels_km: Kilometres | None = None
    note: Text | None = None
    left_on: Day | None = None


class AddPrinter(Command):
    """A printer: its usable volume and its nozzle in mm, and what it prints well."""

    model_config = ConfigDict(
        json_schema_extra={
            "example": {
                "name": "Kitchen printer",
                "width_mm": 210,
                "depth_mm": 200,
                "height_mm": 190,
                "materials": ["PETG", "TPU 95A"],
            }
        }
    )

    name: Line
    width_mm: Edge
    depth_mm: Edge
    height_mm: Edge
    nozzle_mm: Nozzle = 0.4
    materials: Materials
    note: Text = ""


class ChangePrinter(Command):
    """New particulars of a printer, or its state; what is left out stays."""

    model_config = ConfigDict(json_schema_extra={"example": {"state": "out_of_order", "note": "Waits for a new bed."}})

    name: Line | None = None
    width_mm: Edge | None = None
    depth_mm: Edge | None = None
    height_mm: Edge | None = None
    nozzle_mm: Nozzle | None = None
    materials: Materials | None = None
    state: PrinterState | None = None
    note: Text | None = None


class AddStock(Command):
    """Material on hand. With the number of a lot its material and colour are the lot's."""

    model_config = ConfigDict(json_schema_extra={"example": {"material": "PETG", "colour": "teal", "grams": 600}})

    lot: Id | None = None
    material: Text = ""
    colour: Text = ""
    grams: Grams | None = None


class ChangeStock(Command):
    """How much is left; `gone` when there is none."""

    model_config = ConfigDict(json_schema_extra={"example": {"grams": 150}})

    grams: Grams | None = None
    gone: bool = False


class AddAbsence(Command):
    """Days away, the first and the last."""

    model_config = ConfigDict(json_schema_extra={"example": {"since": "2027-07-12", "until": "2027-07-25"}})

    since: Day
    until: Day
    note: Text = ""


class AddTraining(Command):
    """What somebody was trained for, and on which day."""

    model_config = ConfigDict(json_schema_extra={"example": {"skill": "print", "trained_on": "2026-11-03"}})

    skill: Skill
    trained_on: Day
    review_due_on: Day | None = None


class AddVetting(Command):
    """A safeguarding check. Unless a day is given its review is due after three years, which is practice, not law."""

    model_config = ConfigDict(json_schema_extra={"example": {"kind": "home_visits", "checked_on": "2026-10-20"}})

    kind: VettingKind
    checked_on: Day
    review_due_on: Day | None = None
    note: Text = ""


class AddVisit(Command):
    """A visit that was made: to whom, what for, and which guardian was there. A child is never visited without one."""

    model_config = ConfigDict(
        json_schema_extra={
            "example": {"case_number": "100-0017", "what_for": "Fitted the socket", "guardian_present": "The father"}
        }
    )

    case_number: Line
    visited_on: Day | None = None
    guardian_present: Text = ""
    what_for: Line


class VolunteerFilter(Listing):
    """Which volunteers are wanted: of one site, with `q` in the name; those who left only when asked for."""

    q: Text = ""
    site: Text = ""
    left: bool = False


class PrinterView(View):
    """A printer, as it stands."""

    id: int
    name: str
    width_mm: float
    depth_mm: float
    height_mm: float
    nozzle_mm: float
    materials: list[str]
    state: PrinterState
    note: str


class StockView(View):
    """Material on hand; `grams` null where nobody knows."""

    id: int
    lot_id: int | None
    material: str
    colour: str
    grams: float | None


class AbsenceView(View):
    """Days away, both included."""

    id: int
    since: date
    until: date
    note: str


class TrainingView(View):
    """What somebody is trained for."""

    id: int
    skill: Skill
    trained_on: date
    review_due_on: date | None
    recorded_by: str


class VettingView(View):
    """A safeguarding check; `words` say it as a page does, `due` whether its review by policy was due before today."""

    id: int
    kind: VettingKind
    checked_on: date
    review_due_on: date
    note: str
    recorded_by: str
    ended_on: date | None
    due: bool
    words: str


class VisitView(View):
    """A visit that was made."""

    id: int
    case_number: str
    given_name: str
    visited_on: date
    guardian_present: str
    what_for: str
    recorded_by: str


class VolunteerLine(View):
    """A volunteer in a list. `km_from_site` is rounded to 5, null while a town is missing; `away_until` is null for
    somebody who is there today; `vetted_until` is null unless you keep vettings, and for who has none.
    """

    id: int
    name: str
    site: str
    site_name: str
    languages: list[str]
    hours_a_week: float
    jobs_at_once: int
    km_from_site: int | None
    skills: list[Skill]
    printers: int
    materials: list[str]
    away_until: date | None
    vetted_until: date | None
    left_on: date | None


class VolunteerView(VolunteerLine):
    """Everything known of a volunteer. What is private is null to all but themselves and their coordinators."""

    since: date
    looked_at: datetime
    printer_list: list[PrinterView]
    stock: list[StockView]
    absences: list[AbsenceView]
    trainings: list[TrainingView]
    is_own: bool
    account: int | None
    email: str | None
    phone: str | None
    town: int | None
    town_name: str | None
    travels_km: float | None
    note: str | None
    vettings: list[VettingView] | None
