"""The console's forecasts: of a file, and replayed over the register's own past."""

from __future__ import annotations

import json
import re
from pathlib import Path
from typing import Any

import pytest
import sqlalchemy as sa
from fastapi.testclient import TestClient
from typer.testing import CliRunner, Result

from service import cli
from service.access.permissions import Role
from service.growth.backtest import NOTHING
from service.growth.model import MODEL
from service.growth.schemas import ForecastCase
from service.growth.stateless import answer
from service.growth.tables import ForecastRow
from tests.conftest import Register
from tests.devices.worn import device, made, opened, socket

CASE: dict[str, Any] = {
    "case_id": "A-17",
    "birth_date": "2018-05-04",
    "sex": "female",
    "as_of": "2026-03-02",
    "readings": [{"on": "2026-01-12", "dimension": "residual_limb_girth", "level_mm": 60, "value_mm": 175.0}],
    "device": {"limits": [{"dimension": "residual_limb_girth", "level_mm": 60, "tight_at_mm": 190.5}]},
}


def run(*words: str, stdin: str = "") -> Result:
    return CliRunner().invoke(cli.cli, ["forecast", *words], input=stdin)


@pytest.fixture
def there(register: Register, monkeypatch: pytest.MonkeyPatch) -> Register:
    """The register as the console finds it, at the tests' own time."""
    monkeypatch.setenv("HANDSPAN_DATABASE_URL", register.settings.database)
    monkeypatch.setattr(cli, "clock_in", lambda _zone: register.clock)
    return register


def outgrown(coordinator: TestClient, *, reason: str = "outgrown") -> str:
    """Somebody whose socket was fitted 250 days before it came off; measured at the fitting, 80 days before, after."""
    number = opened(coordinator)
    for on, girth in (("2025-05-01", 176.0), ("2025-10-18", 182.0), ("2026-02-01", 196.0)):
        reading = {"dimension": "residual_limb_girth", "side": "left", "level_mm": 60, "values": [girth], "unit": "mm"}
        session = {"taken_on": on, "method": "tape", "readings": [reading], "confirmed": True}
        made(coordinator, f"recipients/{number}/measurements", session)
    everyday = device(coordinator, number)
    fitted = socket(coordinator, number, everyday, "2025-05-01")
    for on, plies in (("2025-06-01", [5, 3]), ("2025-12-20", [1])):
        made(coordinator, f"recipients/{number}/sock-reports", {"on": on, "plies": plies, "fit": "snug"})
    end = {"ended_on": "2026-01-06", "end_reason": reason}
    path = f"/api/v1/recipients/{number}/devices/{everyday}/sockets/{fitted}/end"
    assert coordinator.post(path, json=end).status_code < 300
    return number


def kept(register: Register) -> list[Any]:
    with register.db.reading() as session:
        return list(session.execute(sa.select(ForecastRow.__table__).order_by(ForecastRow.as_of)))


def rows(table: str) -> dict[int, tuple[int, int]]:
    """Sockets and outgrown ones by horizon, of a printed table."""
    found = (re.match(r"\s*(\d+)\s+(\d+)\s+(\d+)\s", line) for line in table.splitlines())
    return {int(each[1]): (int(each[2]), int(each[3])) for each in found if each}


@pytest.mark.parametrize("words", [(), ("file",)], ids=["file", "the word and the file"])
def test_a_file_is_answered_line_by_line(tmp_path: Path, words: tuple[str, ...]) -> None:
    file = tmp_path / "cases.jsonl"
    file.write_text(json.dumps(CASE) + "\n" + json.dumps({"case": {**CASE, "case_id": "B-2"}}) + "\n")
    result = run(*words, str(file))
    assert result.exit_code == 0, result.output
    assert [json.loads(line)["case_id"] for line in result.stdout.splitlines()] == ["A-17", "B-2"]


def test_a_dash_is_standard_input_and_a_bad_line_is_told(tmp_path: Path) -> None:
    result = run("-", stdin=json.dumps(CASE) + "\nnot json\n")
    assert result.exit_code == 1
    first, second = map(json.loads, result.stdout.splitlines())
    assert first["model"] == MODEL
    assert second["line"] == 2


def test_a_file_called_backtest_is_reached_by_its_path(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.chdir(tmp_path)
    Path("backtest").write_text(json.dumps(CASE))
    assert json.loads(run("./backtest").stdout)["case_id"] == "A-17"


@pytest.mark.parametrize("words", [("no-such-file.jsonl",), ("--no-such-option",)])
def test_what_is_neither_is_a_sentence(words: tuple[str, ...]) -> None:
    result = run(*words)
    assert result.exit_code == 2
    assert words[0] in result.stderr


def test_help_says_both() -> None:
    said = run("--help").stdout
    assert "FILE" in said
    assert "backtest" in said


def test_an_empty_register_has_nothing_to_replay(there: Register) -> None:
    result = run("backtest")
    assert (result.exit_code, result.stdout.strip()) == (0, NOTHING)


def test_a_replay_knows_only_what_had_been_measured_by_then(there: Register) -> None:
    number = outgrown(there.api(Role.COORDINATOR))
    result = run("backtest", "--keep")
    assert result.exit_code == 0, result.output
    assert rows(result.stdout) == {30: (1, 1), 90: (1, 1), 180: (1, 1), 365: (0, 0)}

    long_before, before, shortly = kept(there)
    assert [row.as_of.isoformat() for row in (long_before, before, shortly)] == [
        "2025-07-10",
        "2025-10-08",
        "2025-12-07",
    ]
    place = {"dimension": "residual_limb_girth", "side": "left", "level_mm": 60}
    known = [{**place, "on": "2025-05-01", "value_mm": 176.0, "method": "tape"}]
    known += [{**place, "on": "2025-10-18", "value_mm": 182.0, "method": "tape"}]
    case = {
        **CASE,
        "case_id": f"{number}/1",
        "as_of": "2025-12-07",
        "readings": known,
        "device": {"fitted_on": "2025-05-01", "limits": [{**place, "tight_at_mm": 190.5}]},
        "sock_reports": [{"on": "2025-06-01", "plies": [5, 3], "fit": "snug"}],
    }
    assert (shortly.p10, shortly.p50, shortly.p90) == tuple(
        answer(ForecastCase.model_validate(case)).due.model_dump().values()
    )
    case |= {"as_of": "2025-10-08", "readings": known[:1]}
    assert before.p50 == answer(ForecastCase.model_validate(case)).due.p50


def test_without_being_told_to_nothing_is_kept_and_twice_keeps_nothing_twice(there: Register) -> None:
    outgrown(there.api(Role.COORDINATOR))
    first = run("backtest").stdout
    assert kept(there) == []
    assert run("backtest", "--keep").stdout == run("backtest", "--keep").stdout == first
    assert len(kept(there)) == 3
    assert not any(row.is_newest or "curve" in row.answer for row in kept(there))


def test_what_is_kept_is_in_the_record_as_replayed(there: Register) -> None:
    coordinator = there.api(Role.COORDINATOR)
    for _ in range(8):
        outgrown(coordinator)
    run("backtest", "--keep")
    lines = coordinator.get("/api/v1/forecast-record").json()["by_model"]
    assert {(each["model"], each["replayed"]) for each in lines} == {(MODEL, True)}
    assert [each["judged"] for each in lines] == [10, 10, 10, 0]


def test_a_socket_that_broke_is_replayed_but_was_not_outgrown(there: Register) -> None:
    outgrown(there.api(Role.COORDINATOR), reason="broken")
    assert rows(run("backtest").stdout)[30] == (1, 0)


def test_more_recipients_than_a_batch_are_all_replayed(there: Register, monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr("service.growth.queries.BATCH", 2)
    coordinator = there.api(Role.COORDINATOR)
    for _ in range(4):
        outgrown(coordinator)
    assert rows(run("backtest").stdout)[30] == (4, 4)
