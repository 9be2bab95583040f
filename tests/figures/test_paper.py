"""The report on paper: tagged, the same each time, and to the digit what the page, the files and the JSON say."""

from __future__ import annotations

import csv
import re
from html import unescape
from io import BytesIO, StringIO
from typing import Any
from zipfile import ZipFile

import pytest
from pypdf import PdfReader
from pypdf.generic import DictionaryObject

from service.access.permissions import Role
from service.figures.definitions import DEFINITIONS
from service.figures.paper import as_pdf
from service.figures.sheets import FigureView, SheetView
from service.figures.taken import archive
from tests.figures.sheets import FORMULA, MARKUP, SITES, empty, hidden, rich
from tests.figures.shown import kept
from tests.gate.reading import browser_of

SHEETS = {"rich": rich, "empty": empty, "hidden": hidden}


def text_of(pdf: bytes) -> str:
    """Every word of a PDF, without the spaces: lines break where they will."""
    return "".join("".join(page.extract_text().split()) for page in PdfReader(BytesIO(pdf)).pages)


def tight(text: str) -> str:
    return "".join(text.split())


@pytest.mark.parametrize("name", SHEETS)
def test_it_is_tagged_to_the_standard_and_has_a_title(name: str) -> None:
    pdf = as_pdf(SHEETS[name](), 2025, "A charity")
    read = PdfReader(BytesIO(pdf))
    root: Any = read.trailer["/Root"]
    assert root["/MarkInfo"]["/Marked"]
    assert root["/Lang"] == "en"
    assert b"pdfuaid" in root["/Metadata"].get_data()
    assert read.metadata is not None
    assert read.metadata.title == "A charity: Report of 2025"
    assert f"{len(read.pages)}of{len(read.pages)}" in text_of(pdf)
    assert [each.title for each in read.outline if not isinstance(each, list)] == [
        *(each.title for each in SHEETS[name]().sections),
        "The counts behind it",
        "What each figure means",
        "The files that go with this report",
    ]


def test_the_same_sheet_makes_the_same_bytes() -> None:
    assert as_pdf(rich(), 2025, "A charity") == as_pdf(rich(), 2025, "A charity")


def elements(node: Any) -> list[Any]:
    """Every element of the tree of tags, in the order they are read aloud."""
    node = node.get_object() if hasattr(node, "get_object") else node
    if isinstance(node, list):
        return [each for child in node for each in elements(child)]
    if not isinstance(node, DictionaryObject):
        return []
    return [node, *elements(node.get("/K", []))]


def test_each_drawing_is_said_in_words_and_followed_by_its_table() -> None:
    root: Any = PdfReader(BytesIO(as_pdf(rich(), 2025, "A charity"))).trailer["/Root"]
    tags = [each for each in elements(root["/StructTreeRoot"]["/K"]) if each.get("/S") in {"/Figure", "/Table"}]
    drawings = [place for place, each in enumerate(tags) if each["/S"] == "/Figure"]
    assert len(drawings) == 4  # of everybody, by site, by version, and by quarter
    for place in drawings:
        assert tags[place + 1]["/S"] == "/Table"
        assert len(tags[place]["/Alt"]) > 40
    assert "at 12 months, 74 in 100 (63 to 83)" in tags[drawings[0]]["/Alt"]


def test_what_is_typed_is_set_as_it_is_typed() -> None:
    text = text_of(as_pdf(rich(), 2025, MARKUP))
    for typed in (MARKUP, FORMULA):
        assert tight(typed) in text
    assert "root:" not in text


def test_a_name_in_letters_for_which_there_is_no_font_is_no_reason_to_have_no_report() -> None:
    root: Any = PdfReader(BytesIO(as_pdf(rich(), 2025, "伊内斯"))).trailer["/Root"]
    assert root["/MarkInfo"]["/Marked"]


def test_the_appendix_says_what_every_figure_means_and_what_is_in_the_files() -> None:
    text = text_of(as_pdf(empty(), None, "A charity"))
    assert tight("Outcomes up to 31 December 2025") in text
    for key, means in DEFINITIONS.items():
        for each in (key, means.title, means.missing):
            assert tight(each) in text, key
    assert tight("Whether it is withheld, so that nobody can be picked out.") in text
    assert "tables/devices-site.csv" in text


def expected(figure: FigureView) -> tuple[str, str]:
    """The value and the interval of a figure as they should be read; worked out apart from the service."""
    unit = figure.unit

    def plain(value: float) -> str:
        if unit == "share":
            return "over 99" if 0.995 < value < 1 else f"{100 * value:.0f}"
        if unit == "difference of shares":
            return f"{abs(100 * value):.0f} {'fewer' if value < 0 else 'more'}"
        if 0 < value < 0.001:
            return "under 0.001"
        return f"{value:,.0f}" if value >= 100 else f"{value:.3g}"

    endings = {"share": " in 100", "weeks": " weeks", "people": " people"}
    if figure.value is None:
        said = "cannot be told"
    elif unit == "difference of shares":
        said = plain(figure.value).replace(" ", " in 100 ")
    else:
        said = plain(figure.value) + endings.get(unit, "")
    if figure.low is None and figure.high is None:
        return said, "" if figure.value is None else "how surely is not known"
    if figure.high is None:
        return said, f"{plain(figure.low or 0)} or more"
    return said, f"{plain(figure.low or 0)} to {plain(figure.high)}"


def on_page(html: str) -> list[tuple[str, str, str]]:
    """Each row of figures on a page: of whom, the value, the interval."""
    beside = r'(?: <span class="told-beside">([^<]*)</span>)?'
    found = re.findall(rf'<tr><th scope="row">([^<]*)</th>\s*<td><strong>([^<]*)</strong>{beside}', html)
    return [(unescape(of), unescape(said), unescape(interval)) for of, said, interval in found]


def in_files(sheet: SheetView) -> dict[tuple[str, str], tuple[str, str, str, str, str]]:
    """Each figure of the files, by key and of whom: as read, and its numbers."""
    found = {}
    with ZipFile(BytesIO(archive(sheet))) as packed:
        for name in packed.namelist():
            if name.startswith("figures/"):
                for row in csv.DictReader(StringIO(packed.read(name).decode(), newline="")):
                    numbers = (row["said"], row["interval"], row["value"], row["low"], row["high"])
                    found[row["key"], row["of"].removeprefix("'")] = numbers
    return found


@pytest.mark.parametrize("name", SHEETS)
def test_page_paper_files_and_json_agree_to_the_digit(register: Any, name: str) -> None:
    kept(register, SHEETS[name]())
    register.account(Role.TRUSTEE)
    trustee = browser_of(register, "trustee")
    page = on_page(trustee.get("/outcomes/reports/2025").text)
    paper = text_of(trustee.get("/outcomes/reports/2025.pdf").content)
    json_of = SheetView.model_validate_json(SHEETS[name]().model_dump_json())
    files = in_files(json_of)
    figures = [each for section in json_of.sections for each in section.figures]
    assert len(files) == len(figures)
    for figure in figures:
        said, interval = expected(figure)
        label = figure.of.rpartition(", ")[2] if figure.key.startswith("durability") else figure.of.rpartition(": ")[2]
        label = label[:1].upper() + label[1:] if figure.of not in SITES else figure.of
        assert (label, said, interval) in page, figure
        assert tight(label + said + interval) in paper, figure
        shown = files[figure.key, figure.of]
        assert shown[:2] == (said, interval)
        assert [float(each) if each else None for each in shown[2:]] == [figure.value, figure.low, figure.high]


def test_curves_and_counts_agree_too(register: Any) -> None:
    kept(register, rich())
    register.account(Role.TRUSTEE)
    page = unescape(browser_of(register, "trustee").get("/outcomes").text)
    paper = text_of(as_pdf(rich(), None, "A charity"))
    for each in ("95 (90 to 98); 30 or more", "74 (63 to 83); 10 or more", "80 (how surely is not known); 10 or more"):
        assert f">{each}</td>" in page, each
        assert tight(each) in paper, each
    for cells in (["fewer than 8", "15", "withheld"], ["1,200", "0", "1,200"], ["100", "100", "1,250"]):
        assert "".join(f'<td class="n">{each}</td>' for each in cells) in page
        assert tight("".join(cells)) in paper
