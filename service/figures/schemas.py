"""Views of figures beside sheets: a period's headlines, spares, and a site's exact figures."""

from __future__ import annotations

from datetime import date, datetime
from typing import Annotated

from pydantic import Field

from service.figures.sheets import FigureView, SectionView
from service.kit.schema import Command, Day, Id, View


class Period(Command):
    """One whole calendar year, or, with both left out, all years together."""

    since: Day | None = Field(default=None, alias="from")
    until: Day | None = Field(default=None, alias="to")


class SpareKit(Command):
    """For which device (none: what each of your sites should keep), for how many months, how surely enough (0-1)."""

    device: Id | None = None
    months: Annotated[float, Field(gt=0, le=36)] = 6
    service_level: Annotated[float, Field(ge=0.5, le=0.999)] = 0.95


class SummaryView(View):
    """The headlines of a period, as of a day."""

    as_of: date
    computed_at: datetime
    method: str
    year: int | None
    leads: list[str]
    figures: list[FigureView]


class SectionAnswer(View):
    """A section with when it was worked out, and by which version of the method."""

    as_of: date
    computed_at: datetime
    method: str
    section: SectionView


class SpareView(View):
    """A part to send or to keep: `count` is None when nothing is known of it yet; `because` says what it rests on."""

    site: str
    design: str
    version: int
    in_place: int
    count: int | None
    chance: float | None
    because: str


class SparesView(View):
    """What to send or to keep, so that nobody waits for a part with a chance of `service_level`."""

    device: int | None
    months: float
    service_level: float
    items: list[SpareView]
