"""Reading sheets as they were made; how many spare parts are needed is worked out when asked."""

from __future__ import annotations

from datetime import date

import sqlalchemy as sa

from service.access.permissions import May
from service.access.usecase import usecase
from service.access.work import Work
from service.accounts.tables import SiteRow
from service.devices.tables import DeviceRow
from service.figures.facts import Stay
from service.figures.gathering_things import by_site, stays
from service.figures.kept import kept, there
from service.figures.reading import upper
from service.figures.rules import year_asked
from service.figures.schemas import Period, SectionAnswer, SpareKit, SparesView, SpareView, SummaryView
from service.figures.sheets import SheetView
from service.figures.spares import Wanted, wanted
from service.figures.tables import SheetRow
from service.kit.errors import Invalid, NotFound
from service.recipients.scope import visible
from service.recipients.tables import RecipientRow

HEADLINES = ("people.served", "waits.in_time", "waits.half", "wear.now", "safety.rate", "costs.device")


@usecase(May.SEE_FIGURES)
def latest(work: Work) -> SheetView | None:
    """The newest sheet; None before the first is made."""
    return kept(work)


@usecase(May.SEE_FIGURES)
def report_years(work: Work) -> list[int]:
    """The years that have a report, newest first."""
    days = work.session.scalars(sa.select(SheetRow.until).order_by(SheetRow.until.desc()))
    return [on.year for on in days if (on.month, on.day) == (12, 31)]


@usecase(May.SEE_FIGURES)
def report(work: Work, year: int) -> SheetView:
    """The report of a year, as it was made then; raises NotFound for a year without one."""
    found = kept(work, date(year, 12, 31)) if date.min.year <= year <= date.max.year else None
    if found is None:
        raise NotFound(
            f"There is no report of {year}. Reports are made for years that are over, from the register's first."
        )
    return found


@usecase(May.SEE_FIGURES)
def section(work: Work, key: str) -> SectionAnswer:
    """One section of the newest sheet; raises NotFound before the first is made."""
    sheet = there(kept(work))
    return SectionAnswer(
        as_of=sheet.as_of, computed_at=sheet.computed_at, method=sheet.method, section=sheet.section(key)
    )


@usecase(May.SEE_FIGURES)
def summary(work: Work, period: Period) -> SummaryView:
    """The headlines of all years, or of one; raises Invalid for any other period, NotFound where nothing is made."""
    try:
        year = year_asked(period.since, period.until)
    except ValueError as error:
        raise Invalid.at("from", str(error)) from None
    sheet = there(kept(work))
    wanted_of = "everybody" if year is None else str(year)
    figures = [each for part in sheet.sections for each in part.figures if each.of == wanted_of]
    if year is None:
        figures = [each for each in figures if each.key in HEADLINES]
    elif not figures:
        raise NotFound(f"Nothing is told of {year}: figures go up to {sheet.as_of.isoformat()}.")
    return SummaryView(
        as_of=sheet.as_of,
        computed_at=sheet.computed_at,
        method=sheet.method,
        year=year,
        leads=[each.lead for each in sheet.sections] if year is None else [],
        figures=figures,
    )


@usecase(May.PLAN_SPARES)
def spares(work: Work, asked: SpareKit) -> SparesView:
    """How many of which part to send along with a device, or to keep at each of one's sites.

    Raises NotFound for a device the actor may not see.
    """
    if asked.device is not None:
        site = _site_of(work, asked.device)
        known = list(stays(work, work.today, like=asked.device))
        worn = {site: [each for each in known if each.device == asked.device]}
    else:
        known = list(stays(work, work.today))
        worn = by_site(work, known)
    items = [
        _spare(site, each)
        for site, of in sorted(worn.items())
        for each in wanted(_in_place(of), known, work.today, asked.months, asked.service_level)
    ]
    return SparesView(device=asked.device, months=asked.months, service_level=asked.service_level, items=items)


def _in_place(of: list[Stay]) -> list[Stay]:
    return [each for each in of if each.until is None]


def _site_of(work: Work, device: int) -> str:
    found = (
        sa.select(SiteRow.name)
        .join(RecipientRow, RecipientRow.site_id == SiteRow.id)
        .join(DeviceRow, DeviceRow.recipient_id == RecipientRow.id)
        .where(DeviceRow.id == device, visible(work.actor, work.today))
    )
    name = work.session.scalar(found)
    if name is None:
        raise NotFound("There is no device with this number among those you may see.")
    return name


def _spare(site: str, each: Wanted) -> SpareView:
    over = "all versions of it" if each.pooled else "this version"
    broke = f"{each.failures} of {over} broke in {each.years:.1f} years in place"
    return SpareView(
        site=site,
        design=each.design,
        version=each.version,
        in_place=each.in_place,
        count=each.kit.count if each.kit is not None else None,
        chance=round(each.kit.chance, 3) if each.kit is not None else None,
        because=f"{upper(broke)}.",
    )
