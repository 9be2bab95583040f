"""Sheets taken away, on paper or as files: read before the file is made of them, so that no session waits for that."""

from __future__ import annotations

from typing import Annotated

from fastapi import Depends
from fastapi.responses import Response

from service.access.work import Work
from service.figures import queries
from service.figures.kept import there
from service.figures.paper import as_pdf
from service.figures.sheets import SheetView
from service.figures.taken import archive
from service.web.edge import reads


@reads
def newest(work: Work) -> SheetView:
    """The newest sheet; raises NotFound before the first is made."""
    return there(queries.latest(work))


@reads
def of_year(work: Work, year: int) -> SheetView:
    """The report of a year; raises NotFound for a year without one."""
    return queries.report(work, year)


Newest = Annotated[SheetView, Depends(newest)]
OfYear = Annotated[SheetView, Depends(of_year)]


def pdf(sheet: SheetView, year: int | None, charity: str) -> Response:
    """A sheet as a tagged PDF, to be opened."""
    named = {"Content-Disposition": f'inline; filename="outcomes-{year or sheet.as_of.isoformat()}.pdf"'}
    return Response(as_pdf(sheet, year, charity), media_type="application/pdf", headers=named)


def files(sheet: SheetView, year: int | None) -> Response:
    """A sheet as an archive of tables, to be kept."""
    named = {"Content-Disposition": f'attachment; filename="outcomes-{year or sheet.as_of.isoformat()}.zip"'}
    return Response(archive(sheet), media_type="application/zip", headers=named)
