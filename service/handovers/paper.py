"""A passport as a PDF that screen readers can read. What people typed goes in as data, never as markup."""

from __future__ import annotations

import json
from typing import Any

import typst

from service.settings import resource


def as_pdf(content: dict[str, Any]) -> bytes:
    """The passport, tagged, to PDF/UA-1.

    That standard refuses letters for which no font is at hand (a name in another script, on a server without fonts):
    then it is written without the promise, tagged all the same, rather than not at all.
    """
    source = resource("templates") / "handovers/passport.typ"
    folder, given = str(source.parent), {"data": json.dumps(content)}
    try:
        return typst.compile(str(source), root=folder, format="pdf", sys_inputs=given, pdf_standards=["ua-1"])
    except typst.TypstError:
        return typst.compile(str(source), root=folder, format="pdf", sys_inputs=given)
