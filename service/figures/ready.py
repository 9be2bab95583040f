"""Chapters as they are drawn, kept ready: a sheet never changes, and they are alike for everybody who may read it."""

from __future__ import annotations

from typing import Final

from markupsafe import Markup

from service.figures.chapters import chapters
from service.figures.sheets import SheetView
from service.web.render import environment

MOST: Final = 8
"""So many sheets are held ready, as many as `kept` holds."""

_DRAWN: dict[int, tuple[SheetView, Markup]] = {}
"""By the object that was drawn, which is held with it, so that its number cannot become another's."""


def drawn(sheet: SheetView) -> Markup:
    """The chapters of a sheet as HTML."""
    held = _DRAWN.get(id(sheet))
    if held is not None and held[0] is sheet:
        return held[1]
    # Markup that our own templates made, with autoescape on.
    html = Markup(environment().get_template("figures/chapters.html").render({"chapters": chapters(sheet)}))  # noqa: S704
    if len(_DRAWN) >= MOST:
        _DRAWN.clear()
    _DRAWN[id(sheet)] = sheet, html
    return html
