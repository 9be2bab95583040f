"""Commands and views of what hurts, of incidents and of concerns."""

from __future__ import annotations

from datetime import date, datetime
from typing import Annotated

from pydantic import BeforeValidator, ConfigDict, Field

from service.kit.paging import Listing
from service.kit.schema import Command, Day, Id, Line, Text, View
from service.recipients.schemas import NO_CHOICE
from service.safety.rules import Clock, IncidentKind, Sign, SkinSeen

Words = Annotated[Text, Field(min_length=1)]


class ReportSkin(Command):
    """What was seen or felt where a device was, after taking it off."""

    model_config = ConfigDict(json_schema_extra={"example": {"signs": ["red_stays", "warm"], "words": "At the elbow."}})

    signs: Annotated[list[Sign], Field(min_length=1, max_length=len(Sign))]
    device: Id | None = None
    words: Text = ""


class ReportIncident(Command):
    """Something that hurt somebody or could have; `aware_on` is the day somebody of the charity first heard of it."""

    model_config = ConfigDict(
        json_schema_extra={"example": {"kind": "near_harm", "words": "The wrist came apart on a swing; nobody fell."}}
    )

    kind: IncidentKind
    words: Words
    device: Id | None = None
    aware_on: Day | None = None


class ReportIncidentOf(ReportIncident):
    """An incident, with the case it happened in."""

    model_config = ConfigDict(
        json_schema_extra={
            "example": {"case_number": "100-001-3", "kind": "near_harm", "words": "The wrist came apart on a swing."}
        }
    )

    case_number: Annotated[Line, Field(max_length=40)]


class JudgeIncident(Command):
    """How serious an incident is, and why; `clock` says in which way it is serious."""

    model_config = ConfigDict(
        json_schema_extra={"example": {"serious": True, "clock": "other_serious", "why": "It needed a doctor."}}
    )

    serious: bool
    clock: Clock | None = None
    why: Line


class CloseIncident(Command):
    """What came of an incident; a serious one says when it was reported, or why it was not."""

    model_config = ConfigDict(
        json_schema_extra={"example": {"outcome": "The wrist was made anew, thicker.", "reported_on": "2026-03-09"}}
    )

    outcome: Words
    reported_on: Day | None = None
    not_reported_why: Text = ""


class FinishReview(Command):
    """What was found when somebody looked."""

    model_config = ConfigDict(json_schema_extra={"example": {"outcome": "Gone by evening; the liner was folded."}})

    outcome: Words


class RaiseConcern(Command):
    """A worry about a child or about somebody of the charity; only the safeguarding lead of the site reads it.

    `about` says whom or what it is about, `reach` how to speak to whoever raises it, if they wish.
    """

    model_config = ConfigDict(
        json_schema_extra={"example": {"about": "A volunteer", "words": "He asked the child to keep a secret."}}
    )

    about: Line
    words: Words
    reach: Annotated[Text, Field(max_length=200)] = ""
    case_number: Annotated[Text, Field(max_length=40)] = ""
    site: Annotated[Text | None, Field(max_length=20)] = None


class CloseConcern(Command):
    """What came of a concern."""

    model_config = ConfigDict(json_schema_extra={"example": {"outcome": "Passed on to the local authority."}})

    outcome: Words


class IncidentFilter(Listing):
    """Which incidents are wanted; `judged` false are those nobody has judged yet."""

    judged: Annotated[bool | None, BeforeValidator(lambda given: None if given == "" else given)] = None
    case_number: Annotated[Text | None, Field(max_length=40), NO_CHOICE] = None


class SkinReported(View):
    """What was made of what was seen: the advice comes first, then what the charity does."""

    seen: SkinSeen
    say: str
    then: str
    review_due_on: date | None
    incident: int | None


class SkinLine(View):
    """What is said where the worst of what is seen is one of the `signs`, and what the charity does."""

    seen: SkinSeen
    signs: list[str]
    say: str
    does: str


class SkinTable(View):
    """What is said about the skin, from least to worst, with the limits in use and their source.

    A clinician's plan for a person goes before it.
    """

    lines: list[SkinLine]
    fades_minutes: int
    long_minutes: int
    review_days: int
    source: str


class ClockDay(View):
    """By when something would have to be reported, were it serious in this way; orientation, not advice."""

    clock: Clock
    words: str
    days: int
    report_by: date


class IncidentView(View):
    """An incident. `serious` is null until a named person has judged it, `closed_at` until one has closed it.

    `report_by` is the day to report it by, if it is serious; `reported_on` or `not_reported_why` says what was done.
    """

    id: int
    case_number: str
    given_name: str
    family_name: str
    device: int | None
    kind: IncidentKind
    words: str
    aware_on: date
    opened_at: datetime
    opened_by: str
    serious: bool | None
    judged_at: datetime | None
    judged_by: str | None
    judged_why: str
    report_by: date | None
    closed_at: datetime | None
    closed_by: str | None
    outcome: str | None
    reported_on: date | None
    not_reported_why: str | None
    clocks: list[ClockDay]


class ReviewView(View):
    """Somebody is to look at a recipient's skin by a day; done once `outcome` is there.

    `watch_for` is of the clinician's newest note on the person, and goes before what was `said`; null if there is none.
    """

    id: int
    case_number: str
    given_name: str
    family_name: str
    device: int | None
    seen: SkinSeen
    said: str
    watch_for: str | None
    noted_by: str | None
    noted_on: date | None
    words: str
    due_on: date
    opened_at: datetime
    opened_by: str
    done_at: datetime | None
    done_by: str | None
    outcome: str


class ToLookAt(View):
    """What waits for somebody to look: incidents nobody has judged, and reviews, the most pressing first."""

    incidents: list[IncidentView]
    reviews: list[ReviewView]


class ConcernTaken(View):
    """That a concern was taken; it cannot be looked up by whoever raised it."""

    said: str


class ConcernView(View):
    """A concern, for the safeguarding lead."""

    id: int
    site_name: str
    case_number: str | None
    given_name: str | None
    about: str
    words: str
    raised_at: datetime
    raised_by: str
    reach: str
    read_at: datetime | None
    closed_at: datetime | None
    outcome: str
