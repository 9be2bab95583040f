"""A sheet as a PDF that screen readers can read: a report, made for paper, black on white.

Curves are images with a sentence for who cannot see them, and the same numbers in a table after each. Smears stand in
tables beside the numbers they show, so readers aloud pass over them.
"""

from __future__ import annotations

import json
from dataclasses import asdict
from typing import Any, Final

import typst

from service.figures import reading
from service.figures.chapters import Chapter, Drawn, Group, Ran, chapters
from service.figures.definitions import DEFINITIONS
from service.figures.drawing import Scale
from service.figures.sheets import SheetView
from service.figures.taken import resources
from service.figures.taken_fields import FILES
from service.kit.days import full_day
from service.settings import resource
from service.web.render import environment
from service.web.words import listed

WIDE: Final = 400
HIGH: Final = 150
"""The box of a drawing, in points."""


def as_pdf(sheet: SheetView, year: int | None, charity: str) -> bytes:
    """The report of a year, or of what is newest, tagged, to PDF/UA-1; the same sheet makes the same bytes.

    That standard refuses letters for which no font is at hand (a name in another script, on a server without fonts):
    then it is written without the promise, tagged all the same, rather than not at all.
    """
    source = resource("templates") / "figures/report.typ"
    folder, given = str(source.parent), {"data": json.dumps(content(sheet, year, charity))}
    made = int(sheet.computed_at.timestamp())
    try:
        return typst.compile(
            str(source), root=folder, format="pdf", sys_inputs=given, timestamp=made, pdf_standards=["ua-1"]
        )
    except typst.TypstError:
        return typst.compile(str(source), root=folder, format="pdf", sys_inputs=given, timestamp=made)


def content(sheet: SheetView, year: int | None, charity: str) -> dict[str, Any]:
    """What the template is given: texts and places, nothing left to work out."""
    found = chapters(sheet)
    gone = [key for each in found for key in _keys(each) if key not in DEFINITIONS]
    return {
        "title": f"Report of {year}" if year else f"Outcomes up to {full_day(sheet.as_of)}",
        "charity": charity,
        "answer": reading.answer(sheet),
        "told_by": reading.told_by(sheet),
        "method": sheet.method,
        "chapters": [_chapter(each) for each in found],
        "definitions": [_defined(key) for key in (*DEFINITIONS, *dict.fromkeys(gone))],
        "files": [{"path": each.path, "title": each.title} for each in resources(sheet)],
        "fields": [{"of": of, "fields": [each._asdict() for each in fields]} for of, fields in FILES],
    }


def _keys(chapter: Chapter) -> list[str]:
    """The keys of all that is defined in a chapter."""
    return [
        *(each.key for each in chapter.questions),
        *(each.key for each in chapter.curves),
        *(each.key for each in chapter.ratios),
        *(each.view.key for each in chapter.runs),
    ]


def _chapter(chapter: Chapter) -> dict[str, Any]:
    section = chapter.section
    return {
        "title": section.title,
        "lead": section.lead,
        "notes": section.notes,
        "questions": [
            {"title": each.means.title, "scale": _scale(each.scale), "groups": [_group(of) for of in each.groups]}
            for each in chapter.questions
        ],
        "ratios": [
            {
                "verdict": each.verdict,
                "said": each.said,
                "p": each.p,
                "smear": asdict(each.smear) if each.smear else None,
            }
            for each in chapter.ratios
        ],
        "ratio_title": chapter.ratios[0].means.title if chapter.ratios else "",
        "ratio_scale": _scale(chapter.ratio_scale),
        "curves": [
            {
                "title": each.means.title,
                "drawings": [_drawn(one) for one in (*each.everybody, *(one for _, of in each.groups for one in of))],
            }
            for each in chapter.curves
        ],
        "runs": [_ran(each) for each in chapter.runs],
        "tables": [asdict(each) for each in chapter.tables],
        "elsewhere": [{"title": title, "there": there.title} for title, there in chapter.elsewhere],
    }


def _group(group: Group) -> dict[str, Any]:
    return {"title": group.title, "rows": [asdict(row) for row in group.rows], "whys": group.whys}


def _scale(scale: Scale) -> dict[str, Any]:
    return {"ticks": [asdict(each) for each in scale.ticks], "origin": scale.origin}


def _drawn(drawn: Drawn) -> dict[str, Any]:
    svg = environment().get_template("figures/curves.svg").render(plot=drawn.plot, wide=WIDE, high=HIGH)
    return {
        "title": drawn.title,
        "unit": drawn.plot.unit,
        "svg": svg if drawn.plot.lines else "",
        "says": f"{drawn.means.title}. {drawn.says}",
        "lines": [each.label for each in drawn.plot.lines],
        "grid": asdict(drawn.grid),
        "untold": listed(drawn.untold),
    }


def _ran(ran: Ran) -> dict[str, Any]:
    svg = environment().get_template("figures/run.svg").render(run=ran.drawn, wide=WIDE, high=HIGH)
    return {
        "title": ran.means.title,
        "findings": ran.view.findings or [ran.view.why or "Nothing here is more than the usual ups and downs."],
        "svg": svg if ran.drawn.points else "",
        "says": ran.says,
        "grid": asdict(ran.grid),
    }


def _defined(key: str) -> dict[str, Any]:
    return {"key": key, **reading.definition(key)._asdict()}
