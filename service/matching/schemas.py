"""Commands and views of matching. Costs are points: ten are one day late for what can wait longest."""

from __future__ import annotations

from datetime import date, datetime
from typing import Annotated

from pydantic import ConfigDict, Field

from service.kit.paging import Listing
from service.kit.schema import Command, Id, Line, Text, View
from service.matching.rules import OfferState
from service.matching.verdicts import Topic, Verdict
from service.recipients.schemas import NO_CHOICE
from service.requests.rules import RequestKind

Points = Annotated[int, Field(ge=0, le=1000)]


class WeightsView(Command):
    """What a site weighs against what, in points.

    For a day late, ten kilometres travelled, a parcel, a colour to be bought, another person than the family is used
    to, each further job of one person, and asking somebody else than is being asked.
    """

    model_config = ConfigDict(json_schema_extra={"example": {"late": 10, "distance": 4, "load": 20}})

    late: Points = 10
    distance: Points = 4
    post: Points = 15
    colour: Points = 15
    change: Points = 20
    load: Points = 10
    moved: Points = 25


class MakePlan(Command):
    """A plan for all open requests of a site, the first of yours unless one is named; by its weights unless given."""

    model_config = ConfigDict(json_schema_extra={"example": {"site": "harbour"}})

    site: Text | None = None
    weights: WeightsView | None = None


class Instead(Command):
    """Somebody else than the plan proposes, and why."""

    request: Id
    volunteer: Id
    why: Line


class AcceptPlan(Command):
    """Which requests of a plan to offer: all if none are named. `instead` are those decided otherwise."""

    model_config = ConfigDict(json_schema_extra={"example": {"requests": [1, 2], "instead": []}})

    requests: Annotated[list[Id], Field(max_length=5000)] | None = None
    instead: Annotated[tuple[Instead, ...], Field(max_length=500)] = ()


class AnswerOffer(Command):
    """An answer, with a reason if there is one."""

    model_config = ConfigDict(json_schema_extra={"example": {"why": "I am away that week."}})

    why: Annotated[Text, Field(max_length=500)] = ""


class OfferFilter(Listing):
    """Which offers are wanted."""

    state: Annotated[OfferState | None, NO_CHOICE] = None


class ReasonView(View):
    """One reason, and what would make it fit."""

    topic: Topic
    verdict: Verdict
    words: str
    remedy: str


class CostView(View):
    """What a pair costs, by what."""

    total: int
    late: int
    distance: int
    colour: int
    change: int
    load: int


class CandidateView(View):
    """A volunteer beside a request. `km` is rounded to 5; `there_by` is when it could be there."""

    volunteer: int
    name: str
    eligible: bool
    reasons: list[ReasonView]
    cost: CostView | None
    km: int | None
    there_by: date | None


class SecondChoice(View):
    """The next best for a request while the rest of the plan stays, and by how many points it is dearer."""

    volunteer: int
    name: str
    dearer: int
    why: str


class ProposalView(View):
    """Who is to make what: `why` in two sentences; `there_by` with the other jobs the plan gives them.

    `because` is the first of the sentences, which the volunteer is told too.
    """

    request: int
    title: str
    volunteer: int
    name: str
    because: str
    why: str
    cost: CostView
    there_by: date
    needed_by: date
    hours: float
    delivers: bool
    rank: int
    second: SecondChoice | None
    is_standing: bool


class LeftView(View):
    """A request that nobody is proposed for, and what stands in the way, with how many of the volunteers."""

    request: int
    title: str
    needed_by: date
    reasons: list[str]


class PlanResult(View):
    """What a plan proposes. `gap`: by how many points another could be better at most, 0 when proved that none is."""

    assignments: list[ProposalView]
    unassigned: list[LeftView]
    total_cost: int
    optimal: bool
    gap: int
    volunteers: int


class PlanView(PlanResult):
    """A plan as it was proposed, and what has become of each request since: an offer's state, or null."""

    id: int
    site: str
    site_name: str
    made_at: datetime
    made_by: str
    weights: WeightsView
    settled_at: datetime | None
    settled_by: str | None
    offered: dict[int, OfferState]


class PlanLine(View):
    """A plan in a list."""

    id: int
    site_name: str
    made_at: datetime
    made_by: str
    settled_at: datetime | None


class LinkView(View):
    """The secret part of the page `/offers/{link}`; the one before works no more."""

    link: str


class PartAsked(View):
    """A part as whoever prints it needs to know it."""

    what: str
    quantity: int
    size_mm: tuple[float, float, float] | None
    material: str
    colour: str


class OfferView(View):
    """An offer. `for_whom` is a first name if the family agreed to that, else empty; `why` says why they are asked.

    `address` is shown only to a volunteer who accepted and brings it, while their vetting is up to date, until it is
    handed over. `link` is the secret part of the page `/offers/{link}`, answered once, when the offer is made.
    """

    id: int
    request: int
    kind: RequestKind
    for_whom: str
    parts: list[PartAsked]
    colour: str
    deadline: date
    hours: float
    delivers: bool
    volunteer: int
    volunteer_name: str
    state: OfferState
    offered_at: datetime
    lapses_at: datetime
    answered_at: datetime | None
    answer_why: str
    why: str
    address: str | None = None
    link: str | None = None


class Asked(View):
    """Something a volunteer was asked to make, and what they said."""

    offer: int
    kind: RequestKind
    offered_at: datetime
    state: OfferState
    answered_at: datetime | None
    why: str
    days: int | None


class HistoryView(View):
    """What a volunteer was asked, newest first, and counted; `days` is from yes to handed over, their median too.

    `said_yes` is the share of what they answered or let lapse, with the 95 per cent interval of it (Wilson).
    """

    volunteer: int
    name: str
    offered: int
    accepted: int
    declined: int
    lapsed: int
    said_yes: tuple[float, float, float] | None
    median_days: float | None
    items: list[Asked]


class Skipped(View):
    """A request no offer was made for, and why."""

    request: int
    why: str


class AcceptedPlan(View):
    """What accepting a plan did."""

    offers: list[OfferView]
    skipped: list[Skipped]


class Changed(View):
    """A proposal that other weights would change."""

    title: str
    before: str
    after: str


class Tried(View):
    """What other weights would do to the plan of today."""

    weights: WeightsView
    changes: list[Changed]
    proposals: int
    days_late: tuple[int, int]
    kilometres: tuple[int, int]
