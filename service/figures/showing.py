"""What the pages are given. Pure but for the refusals."""

from __future__ import annotations

from typing import Any

from service.figures import reading
from service.figures.chapters import questions
from service.figures.definitions import DEFINITIONS
from service.figures.ready import drawn
from service.figures.sheets import SheetView
from service.kit.errors import NotFound


def of_sheet(sheet: SheetView | None, years: list[int], year: int | None = None) -> dict[str, Any]:
    """The page of a sheet; `year` where it is the report of one."""
    return {
        "sheet": sheet,
        "drawn": drawn(sheet) if sheet is not None else "",
        "years": years,
        "year": year,
        "answer": reading.answer(sheet) if sheet is not None else "Nothing is told yet.",
        "told_by": reading.told_by(sheet) if sheet is not None else "",
    }


def of_dictionary(sheet: SheetView | None) -> dict[str, Any]:
    """The page of what every figure means, and of when figures were told by it."""
    return {"definitions": list(DEFINITIONS.items()), "told_by": reading.told_by(sheet) if sheet is not None else ""}


def of_figure(sheet: SheetView | None, key: str) -> dict[str, Any]:
    """The page of one figure; raises NotFound for one that is not defined."""
    if key not in DEFINITIONS:
        raise NotFound("There is no figure of this name. All figures are listed under What each figure means.")
    told = questions(sheet, key) if sheet is not None else []
    return {"key": key, "means": reading.definition(key), "told": told}
