"""REST face of trustees' figures."""

from __future__ import annotations

from typing import Annotated, Any

from fastapi import APIRouter, Query, Request
from fastapi.responses import Response

from service.access.work import Work
from service.figures import actions, carried, queries
from service.figures.carried import OfYear
from service.figures.schemas import Period, SectionAnswer, SpareKit, SparesView, SummaryView
from service.figures.sheets import SheetView
from service.web.edge import frame, reads, writes

router = APIRouter(prefix="/outcomes", tags=["outcomes"])

_AS_PDF: dict[int | str, dict[str, Any]] = {200: {"content": {"application/pdf": {}}, "description": "The report."}}
_AS_ZIP: dict[int | str, dict[str, Any]] = {200: {"content": {"application/zip": {}}, "description": "The files."}}


@router.get("/summary")
@reads
def summary(work: Work, period: Annotated[Period, Query()]) -> SummaryView:
    """The headlines: of all years, or with `from` and `to` of one whole calendar year."""
    return queries.summary(work, period)


@router.get("/wear")
@reads
def wear(work: Work) -> SectionAnswer:
    """Still worn: survival, reasons for stopping, what people say, goals."""
    return queries.section(work, "wear")


@router.get("/durability")
@reads
def durability(work: Work) -> SectionAnswer:
    """How long parts last by version, and versions compared."""
    return queries.section(work, "durability")


@router.get("/waits")
@reads
def waits(work: Work) -> SectionAnswer:
    """How long people wait, and promises kept."""
    return queries.section(work, "waits")


@router.get("/safety")
@reads
def safety(work: Work) -> SectionAnswer:
    """Incidents, clocks, notices and follow-up checks."""
    return queries.section(work, "safety")


@router.get("/costs")
@reads
def costs(work: Work) -> SectionAnswer:
    """What it costs, as far as anybody records it."""
    return queries.section(work, "costs")


@router.get("/fit")
@reads
def fit(work: Work) -> SectionAnswer:
    """Days in tight sockets, sockets needed, forecasts."""
    return queries.section(work, "fit")


@router.get("/fairness")
@reads
def fairness(work: Work) -> SectionAnswer:
    """Whether some wait longer or stop sooner than others."""
    return queries.section(work, "fairness")


@router.get("/change")
@reads
def change(work: Work) -> SectionAnswer:
    """Quarter by quarter, with limits of the usual ups and downs."""
    return queries.section(work, "change")


@router.get("/spares")
@reads
def spares(work: Work, asked: Annotated[SpareKit, Query()]) -> SparesView:
    """How many of which part to send with a device, or, without one, to keep at each of your sites."""
    return queries.spares(work, asked)


@router.get("/exact")
@writes
def exact(work: Work) -> SheetView:
    """The exact figures of your own sites, up to today; that you looked is on record."""
    return actions.exact_figures(work)


@router.get("/reports/{year}.pdf", response_class=Response, responses=_AS_PDF)
def report_paper(request: Request, year: int, sheet: OfYear) -> Response:
    """The report of a year on paper: a tagged PDF."""
    return carried.pdf(sheet, year, frame(request).settings.charity_name)


@router.get("/reports/{year}.zip", response_class=Response, responses=_AS_ZIP)
def report_files(year: int, sheet: OfYear) -> Response:
    """The report of a year as files: each table as CSV with its Table Schema, and a data dictionary."""
    return carried.files(sheet, year)


@router.get("/reports/{year}")
@reads
def report(work: Work, year: int) -> SheetView:
    """The report of a year, as it was made then; `….pdf` and `….zip` hold the same for paper and spreadsheets."""
    return queries.report(work, year)
