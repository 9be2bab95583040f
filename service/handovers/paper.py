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
    folder = resource("templates") / "handovers"
    given = {"data": json.dumps(content)}
    source = str(folder / "passport.typ")
    try:
        return typst.compile(source, root=str(folder), format="pdf", sys_inputs=given, pdf_standards=["ua-1"])
    except typst.TypstError:
        return typst.compile(source, root=str(folder), format="pdf", sys_inputs=given)
