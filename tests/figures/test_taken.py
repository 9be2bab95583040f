"""The files of a sheet: they are what their descriptor says, the same each time, and no spreadsheet runs them."""

from __future__ import annotations

import csv
import json
from collections.abc import Callable
from datetime import date
from hashlib import sha256
from io import BytesIO, StringIO
from typing import Any
from zipfile import ZipFile

import pytest

from service.figures import taken
from service.figures.definitions import DEFINITIONS
from service.figures.sheets import SheetView
from service.figures.taken_fields import FILES
from tests.figures.sheets import FORMULA, empty, hidden, rich, table

SHEETS = {"rich": rich, "empty": empty, "hidden": hidden}
READ: dict[str, Callable[[str], Any]] = {
    "string": str,
    "number": float,
    "integer": int,
    "boolean": {"true": True, "false": False}.__getitem__,
    "date": date.fromisoformat,
}


def unpacked(sheet: SheetView) -> dict[str, bytes]:
    with ZipFile(BytesIO(taken.archive(sheet))) as packed:
        assert packed.testzip() is None
        return {name: packed.read(name) for name in packed.namelist()}


def tables(sheet: SheetView) -> dict[str, list[dict[str, Any]]]:
    """Each file read by its schema alone, as any other program would."""
    files = unpacked(sheet)
    found = {}
    for resource in json.loads(files["datapackage.json"])["resources"]:
        schema = resource["schema"]
        rows = csv.DictReader(StringIO(files[resource["path"]].decode(resource["encoding"]), newline=""))
        read = {field["name"]: READ[field["type"]] for field in schema["fields"]}
        found[resource["path"]] = [
            {name: None if cell in schema["missingValues"] else read[name](cell) for name, cell in row.items()}
            for row in rows
        ]
        assert rows.fieldnames == list(read)
    return found


@pytest.mark.parametrize("name", SHEETS)
def test_every_file_is_described_and_reads_by_its_schema(name: str) -> None:
    files = unpacked(SHEETS[name]())
    package = json.loads(files["datapackage.json"])
    described = {each["path"]: each for each in package["resources"]}
    assert set(files) == set(described) | {"datapackage.json", "sheet.json", "read-me-first.txt"}
    names = [each["name"] for each in package["resources"]]
    assert len(set(names)) == len(names)
    assert all(set(each) <= set("abcdefghijklmnopqrstuvwxyz0123456789-._") for each in [*names, package["name"]])
    for path, each in described.items():
        assert each["bytes"] == len(files[path])
        assert each["hash"] == f"sha256:{sha256(files[path]).hexdigest()}"
        assert all(field["title"] and field["description"] for field in each["schema"]["fields"])
    tables(SHEETS[name]())


def test_the_same_sheet_makes_the_same_bytes_and_another_others() -> None:
    assert taken.archive(rich()) == taken.archive(rich())
    assert taken.archive(rich()) != taken.archive(rich(date(2024, 12, 31)))
    kept = SheetView.model_validate(json.loads(unpacked(rich())["sheet.json"]))
    assert kept == rich()
    assert taken.archive(kept) == taken.archive(rich())


def test_numbers_are_those_of_the_sheet() -> None:
    found = tables(rich())
    for section in rich().sections:
        rows = found.get(f"figures/{section.key}.csv", [])
        assert len(rows) == len(section.figures)
        by_name = {(row["key"], row["of"]): row for row in rows}
        for each in section.figures:
            of = f"'{each.of}" if each.of == FORMULA else each.of
            row = by_name[each.key, of]
            assert (row["value"], row["low"], row["high"], row["n"]) == (each.value, each.low, each.high, each.n)
            assert row["suppressed"] is each.suppressed
    curves = found["curves/wear-curve.csv"]
    assert [(row["at"], row["value"]) for row in curves if row["of"] == "everybody"] == [
        (3, 0.95),
        (6, 0.9),
        (12, 0.741),
    ]
    assert [row["value"] for row in found["comparisons/durability.csv"]] == [2.14, None]
    assert [row["value"] for row in found["runs/change-asked.csv"]][:6] == [40, 45, 50, 55, 40, None]
    assert found["runs/change-asked.csv"][0]["low"] == -3.2


def test_hidden_counts_are_words_that_the_schema_names_as_missing() -> None:
    text = unpacked(rich())["tables/devices-site.csv"].decode()
    assert text.splitlines()[2].endswith(",fewer than 8,15,withheld")
    rows = tables(rich())["tables/devices-site.csv"]
    assert [row["all"] for row in rows] == [80, None, 1200, 1250]
    assert rows[1]["stopped"] == 15
    assert rows[-1]["row"] == "all"


GUARDED = ["=1+1", "+1", "-1", "@SUM(A1)", "\t=1", "\r=1", "\n=1", "＝1", "=HYPERLINK(1)"]  # noqa: RUF001


@pytest.mark.parametrize("text", GUARDED)
def test_text_that_a_spreadsheet_would_run_begins_with_an_apostrophe(text: str) -> None:
    assert taken.written(text) == f"'{text}"


@pytest.mark.parametrize(
    ("cell", "text"),
    [(-1, "-1"), (-0.1201, "-0.1201"), (12.0, "12"), (0.00001, "1e-05"), (None, ""), (True, "true"), ("5-11", "5-11")],
)
def test_numbers_stay_numbers_and_other_text_stays_as_it_is(cell: Any, text: str) -> None:
    assert taken.written(cell) == text


@pytest.mark.parametrize("name", SHEETS)
def test_no_cell_of_any_file_begins_like_a_formula_unless_it_is_a_number(name: str) -> None:
    for path, content in unpacked(SHEETS[name]()).items():
        if path.endswith(".csv"):
            for cell in (cell for row in csv.reader(StringIO(content.decode(), newline="")) for cell in row):
                if cell.startswith(taken.FORMULA):
                    float(cell)


def test_names_that_are_alike_get_files_of_their_own() -> None:
    made = rich().sections[0]
    alike = [
        table(f"parts: {name}", "version", name, ["broke", "Broke!"], {"1": [1, 2, 3]})
        for name in ("Cup A", "Cup-a", "Ω")
    ]
    sheet = rich().model_copy(update={"sections": [made.model_copy(update={"tables": alike})]})
    found = tables(sheet)
    assert {path for path in found if path.startswith("tables/")} == {
        "tables/parts-cup-a-version.csv",
        "tables/parts-cup-a-version-2.csv",
        "tables/parts-version.csv",
    }
    assert list(found["tables/parts-cup-a-version.csv"][0]) == ["row", "broke", "broke-2", "all"]


def test_the_dictionary_is_that_of_the_definitions() -> None:
    rows = tables(rich())["dictionary.csv"]
    assert {row["key"]: (row["title"], row["method"]) for row in rows} == {
        key: (means.title, means.method) for key, means in DEFINITIONS.items()
    }


def test_the_paper_names_the_columns_of_every_kind_of_file() -> None:
    kinds = [{field.name for field in fields} for _, fields in FILES]
    package = json.loads(unpacked(rich())["datapackage.json"])
    for each in package["resources"]:
        if not each["path"].startswith("tables/"):
            assert {field["name"] for field in each["schema"]["fields"]} in kinds, each["path"]
