"""The API keeps to its own description, whatever is sent: no answer of 500, none that the description does not know."""

from __future__ import annotations

from typing import Any

import pytest
import schemathesis
from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st
from schemathesis import GenerationMode
from schemathesis.checks import CHECKS, load_all_checks

from service.access.permissions import PEOPLE
from service.app import create_app
from service.settings import Settings
from tests.conftest import Register
from tests.parts.made import drafts
from tests.recipients.test_api import INES

load_all_checks()
KEPT = CHECKS.get_by_names(
    [
        "not_a_server_error",
        "status_code_conformance",
        "content_type_conformance",
        "response_schema_conformance",
    ]
)
EXAMPLES = 20


def operations() -> list[tuple[str, str]]:
    """Every method and path that the description names."""
    described = create_app(Settings(database_url="sqlite://", secret_key="x" * 40)).openapi()
    return [(path, method) for path, methods in described["paths"].items() for method in methods]


@pytest.mark.parametrize(("path", "method"), operations(), ids=lambda part: part)
def test_an_operation_keeps_to_its_description(register: Register, path: str, method: str) -> None:
    client = register.api(*PEOPLE)
    known = a_case(client)
    if any(name in path for name in ("{design}", "{version}", "{shape}")):
        known |= drafts(client, known["case_number"])
    schema = schemathesis.openapi.from_asgi("/api/v1/openapi.json", register.app)
    operation = schema[path][method]

    @settings(
        max_examples=EXAMPLES,
        deadline=None,
        database=None,
        derandomize=True,
        suppress_health_check=[HealthCheck.too_slow, HealthCheck.filter_too_much, HealthCheck.data_too_large],
    )
    @given(
        case=st.one_of([operation.as_strategy(generation_mode=mode) for mode in GenerationMode]),
        asked_about=st.sampled_from([known, {}]),
    )
    def holds(case: schemathesis.Case[Any], asked_about: dict[str, Any]) -> None:
        there = {name: value for name, value in asked_about.items() if name in case.path_parameters}
        case.path_parameters = {**case.path_parameters, **there}
        case.call_and_validate(headers={"Authorization": client.headers["Authorization"]}, checks=KEPT)  # type: ignore[arg-type]  # narrower than the registry that names them

    holds()


def a_case(client: Any) -> dict[str, Any]:
    """A recipient with a device, its socket, a part in place, its lot and a measurement, by their path parameters."""
    number = client.post("/api/v1/recipients", json=INES).json()["case_number"]
    at = f"/api/v1/recipients/{number}"
    device = client.post(f"{at}/devices", json={"purpose": "everyday", "side": "left"}).json()["id"]
    limit = {"dimension": "residual_limb_girth", "side": "left", "level_mm": 60, "tight_at_mm": 181.0}
    socket = client.post(f"{at}/devices/{device}/sockets", json={"fitted_on": "2026-01-05", "limits": [limit]}).json()
    reading = {"dimension": "residual_limb_girth", "side": "left", "level_mm": 60, "values": [171.0], "unit": "mm"}
    session = {"taken_on": "2026-01-05", "method": "tape", "readings": [reading]}
    measurement = client.post(f"{at}/measurements", json=session).json()["id"]
    motors = {"kind": "hardware", "what": "geared motor 6 V", "maker": "Spindle & Son", "batch": "7"}
    lot = client.post("/api/v1/lots", json=motors).json()["id"]
    motor = {"on": "2026-01-05", "kind": "motor", "lots": [lot], "confirmed": True}  # the lot came in today
    place = client.post(f"{at}/devices/{device}/parts", json=motor).json()["place"]
    of_device = {"device": device, "socket": socket["id"], "place": place}
    return {"case_number": number, **of_device, "measurement": measurement, "lot": lot}
