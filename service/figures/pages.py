"""HTML face of what trustees are told, with the same on paper and in files. Nothing is worked out here."""

from __future__ import annotations

from fastapi import APIRouter, Request
from fastapi.responses import Response

from service.access.work import Work
from service.figures import carried, queries, showing
from service.figures.carried import Newest, OfYear
from service.web.edge import frame, reads
from service.web.render import render

router = APIRouter(prefix="/outcomes")


@router.get("")
@reads
def outcomes(work: Work, request: Request) -> Response:
    """Everything that is told, up to the last quarter."""
    return render(request, "figures/outcomes.html", showing.of_sheet(queries.latest(work), queries.report_years(work)))


@router.get("/latest.pdf")
def paper(request: Request, sheet: Newest) -> Response:
    """The same on paper, as a tagged PDF."""
    return carried.pdf(sheet, None, frame(request).settings.charity_name)


@router.get("/latest.zip")
def files(sheet: Newest) -> Response:
    """The same as files."""
    return carried.files(sheet, None)


@router.get("/figures")
@reads
def dictionary(work: Work, request: Request) -> Response:
    """What every figure means."""
    return render(request, "figures/dictionary.html", showing.of_dictionary(queries.latest(work)))


@router.get("/figures/{key}")
@reads
def figure(work: Work, request: Request, key: str) -> Response:
    """What one figure means, and all that is told of it."""
    return render(request, "figures/figure.html", showing.of_figure(queries.latest(work), key))


@router.get("/reports/{year}.pdf")
def report_paper(request: Request, year: int, sheet: OfYear) -> Response:
    """The report of a year on paper, as a tagged PDF."""
    return carried.pdf(sheet, year, frame(request).settings.charity_name)


@router.get("/reports/{year}.zip")
def report_files(year: int, sheet: OfYear) -> Response:
    """The report of a year as files."""
    return carried.files(sheet, year)


@router.get("/reports/{year}")
@reads
def report(work: Work, request: Request, year: int) -> Response:
    """The report of a year, as it was told then."""
    told = showing.of_sheet(queries.report(work, year), queries.report_years(work), year)
    return render(request, "figures/outcomes.html", told)
