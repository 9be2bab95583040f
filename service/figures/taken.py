"""The files of a sheet, to be taken away: tables that any program reads, described by a Data Package (version 1).

Each CSV file has its Table Schema in `datapackage.json`. The same sheet makes the same bytes on every machine, so that
a report can be made again and compared: nothing is compressed, for libraries differ in how. What a spreadsheet would
take for a formula begins with an apostrophe; numbers stay numbers.
"""

from __future__ import annotations

import csv
import json
import re
from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from hashlib import sha256
from io import BytesIO, StringIO
from typing import Any, Final
from unicodedata import normalize
from zipfile import ZIP_STORED, ZipFile, ZipInfo

from service.disclosure import Hidden
from service.figures import reading
from service.figures.definitions import DEFINITIONS
from service.figures.grouping import by_key, with_cuts
from service.figures.sheets import CellView, FigureView, SheetView, TableView
from service.figures.taken_fields import (
    COMPARED,
    CURVE,
    DICTIONARY,
    FIGURES,
    FINDINGS,
    NOTES,
    RUN,
    SECTIONS,
    Field,
)

FORMULA: Final = tuple("=+-@\t\r\n＝＋－＠")  # noqa: RUF001  wide ones too: some spreadsheets take them for the narrow
EPOCH: Final = (1980, 1, 1, 0, 0, 0)
"""The day of every file in the archive: the oldest there can be."""

Cell = str | int | float | bool | None


@dataclass(frozen=True)
class Resource:
    """One CSV file: its name in the package, what it is, its fields and rows; `missing` are words for no value."""

    name: str
    title: str
    fields: tuple[Field, ...]
    rows: tuple[tuple[Cell, ...], ...]
    missing: tuple[str, ...] = ("",)

    @property
    def path(self) -> str:
        """Where it lies in the archive."""
        return f"{self.name}.csv"

    def bytes(self) -> bytes:
        """Its text, in UTF-8, with the line ends of RFC 4180."""
        text = StringIO(newline="")
        writer = csv.writer(text, lineterminator="\r\n")
        writer.writerow([each.name for each in self.fields])
        writer.writerows([written(cell) for cell in row] for row in self.rows)
        return text.getvalue().encode()


def written(cell: Cell) -> str:
    """A cell as it is written: numbers plainly, text so that no spreadsheet runs it."""
    if cell is None:
        return ""
    if isinstance(cell, bool):
        return "true" if cell else "false"
    if isinstance(cell, int):
        return str(cell)
    if isinstance(cell, float):
        return f"{cell:.10g}"
    return f"'{cell}" if cell.startswith(FORMULA) else cell


def archive(sheet: SheetView) -> bytes:
    """The files of a sheet, as the bytes of a zip archive."""
    found = resources(sheet)
    files = {each.path: each.bytes() for each in found}
    files["datapackage.json"] = _json(package(sheet, found, files))
    files["sheet.json"] = _json(sheet.model_dump(mode="json"))
    files["read-me-first.txt"] = _read_me(sheet).encode()
    packed = BytesIO()
    with ZipFile(packed, "w") as to:
        for name in sorted(files):
            entry = ZipInfo(name, EPOCH)
            entry.compress_type, entry.external_attr, entry.create_system = ZIP_STORED, 0o644 << 16, 3
            to.writestr(entry, files[name])
    return packed.getvalue()


def resources(sheet: SheetView) -> list[Resource]:
    """The CSV files of a sheet, by name."""
    every = [*_listed(sheet), *_told(sheet), *_tables(sheet)]
    return sorted(every, key=lambda each: each.name)


def package(sheet: SheetView, found: Sequence[Resource], files: dict[str, bytes]) -> dict[str, Any]:
    """The descriptor: a Tabular Data Package of some resources and their bytes."""
    return {
        "profile": "tabular-data-package",
        "name": f"outcomes-{sheet.as_of.isoformat()}",
        "title": f"Outcomes up to {sheet.as_of.isoformat()}",
        "description": reading.told_by(sheet),
        "created": sheet.computed_at.isoformat(),
        "version": sheet.method,
        "resources": [
            {
                "profile": "tabular-data-resource",
                "name": each.name.replace("/", "."),
                "title": each.title,
                "path": each.path,
                "format": "csv",
                "mediatype": "text/csv",
                "encoding": "utf-8",
                "bytes": len(files[each.path]),
                "hash": f"sha256:{sha256(files[each.path]).hexdigest()}",
                "dialect": {"delimiter": ",", "quoteChar": '"', "doubleQuote": True, "lineTerminator": "\r\n"},
                "schema": {
                    "fields": [field._asdict() for field in each.fields],
                    "missingValues": list(each.missing),
                },
            }
            for each in found
        ],
    }


def _listed(sheet: SheetView) -> Iterator[Resource]:
    """What is told in words: sections and notes, and what each figure means."""
    rows = tuple((each.key, each.title, each.lead) for each in sheet.sections)
    yield Resource("sections", "What each section answers", SECTIONS, rows)
    notes = tuple((each.key, note) for each in sheet.sections for note in each.notes)
    yield Resource("notes", "What to bear in mind", NOTES, notes)
    meanings = tuple((key, *DEFINITIONS[key]) for key in sorted(DEFINITIONS))
    yield Resource("dictionary", "What each figure means", DICTIONARY, meanings)


def _told(sheet: SheetView) -> Iterator[Resource]:
    """Figures, curves, comparisons and run charts, a file for each section or key."""
    for section in sheet.sections:
        if section.figures:
            rows = tuple(_figure(cut, each) for cut, each in with_cuts(section.figures, section.tables))
            yield Resource(f"figures/{slug(section.key)}", f"{section.title}: figures", FIGURES, rows)
        for key, curves in by_key(section.curves).items():
            points = tuple(
                (cut, each.of, each.unit, each.n, point.at, point.value, point.low, point.high, point.n, each.method)
                for cut, each in with_cuts(curves, section.tables)
                for point in each.points
            )
            title = f"{section.title}: {reading.definition(key).title}"
            yield Resource(f"curves/{slug(key)}", title, CURVE, points)
        if section.comparisons:
            compared = tuple(
                (each.key, each.of, each.against, each.value, each.low, each.high, each.p, each.suppressed,
                 reading.comparison_said(each), each.verdict)
                for each in section.comparisons
            )  # fmt: skip
            yield Resource(f"comparisons/{slug(section.key)}", f"{section.title}: comparisons", COMPARED, compared)
        for run in section.runs:
            quarters = tuple(
                (quarter, run.unit, value, reading.say(value, run.unit), run.mean, run.low, run.high)
                for quarter, value in zip(run.quarters, run.values, strict=True)
            )
            yield Resource(f"runs/{slug(run.key)}", f"{run.title}, quarter by quarter", RUN, quarters)
        found = tuple((run.key, each) for run in section.runs for each in (*run.findings, *filter(None, [run.why])))
        if found:
            yield Resource(f"runs/{slug(section.key)}-findings", f"{section.title}: findings", FINDINGS, found)


def _figure(cut: str, figure: FigureView) -> tuple[Cell, ...]:
    return (
        figure.key, cut, figure.of, figure.unit, figure.value, figure.low, figure.high, figure.n,
        figure.suppressed, figure.why, figure.method, figure.as_of.isoformat(),
        reading.say(figure.value, figure.unit), reading.interval(figure),
    )  # fmt: skip


def _tables(sheet: SheetView) -> Iterator[Resource]:
    """Every table once, whichever sections it stands in."""
    once = {(each.population, each.name): each for section in sheet.sections for each in section.tables}
    names = _unlike([f"{population} {name}" for population, name in once])
    hidden = tuple(reading.cell_said(CellView(value=None, hidden=each), sheet.threshold) for each in Hidden)
    for name, table in zip(names, once.values(), strict=True):
        yield Resource(f"tables/{name}", table.title, _columns(table), _cells(table, sheet), ("", *hidden))


def _columns(table: TableView) -> tuple[Field, ...]:
    count = "A count as told: rounded. Where it is hidden the cell says how, and has no value."
    fields = [Field("row", "Row", "string", "What is counted in this row; the last row is all together.")]
    names = _unlike(["row", *table.columns, "all"])[1:]
    for name, title in zip(names, [*table.columns, "All"], strict=True):
        fields.append(Field(name, title, "integer", count))
    return tuple(fields)


def _cells(table: TableView, sheet: SheetView) -> tuple[tuple[Cell, ...], ...]:
    def said(cell: CellView) -> Cell:
        return cell.value if cell.value is not None else reading.cell_said(cell, sheet.threshold)

    rows = [(each.label, *map(said, each.cells), said(each.total)) for each in table.rows]
    return (*rows, ("all", *map(said, table.totals), said(table.total)))


def slug(text: str) -> str:
    """A name that any system takes for a file or a field: small letters of ASCII, digits and hyphens."""
    plain = normalize("NFKD", text).encode("ascii", "ignore").decode().lower()
    return re.sub(r"[^a-z0-9]+", "-", plain).strip("-") or "unnamed"


def _unlike(texts: Sequence[str]) -> list[str]:
    """Slugs of some texts; the second of two that are alike gets a number."""
    found: list[str] = []
    for text in texts:
        name, count = slug(text), 1
        while name in found:
            count += 1
            name = f"{slug(text)}-{count}"
        found.append(name)
    return found


def _json(content: dict[str, Any]) -> bytes:
    return (json.dumps(content, ensure_ascii=False, indent=2) + "\n").encode()


def _read_me(sheet: SheetView) -> str:
    return (
        f"Outcomes up to {sheet.as_of.isoformat()}\n\n{reading.told_by(sheet)}\n\n"
        "sections.csv     what each section answers, in sentences\n"
        "dictionary.csv   what each figure means, and how it is worked out\n"
        "figures/         each figure with its interval, in numbers and as it is read\n"
        "tables/          the counts behind the figures\n"
        "curves/, comparisons/, runs/   curves by time, one version against another, quarter by quarter\n"
        "datapackage.json what each file and each of its columns is (Data Package, version 1)\n"
        "sheet.json       all of it as the register keeps it\n\n"
        "The files are in UTF-8. A share is between 0 and 1. An empty cell is a number that is not told. Text that a\n"
        "spreadsheet might run as a formula begins with an apostrophe.\n"
    )
