"""One offer, as most tests of offers begin."""

from __future__ import annotations

import pytest

from tests.matching.things import coordinator, offered, recipient, request, version, volunteer


@pytest.fixture
def one(register):
    """Bo is nearest and asked first, Cy would be next; both know nothing of each other."""
    volunteer(register, "Bo", colours=("red",))
    volunteer(register, "Cy")
    asked = request(register, recipient(register), colour="red", version_id=version(register))
    (offer,) = offered(coordinator(register))["offers"]
    assert offer["volunteer_name"] == "Bo"
    return {"request": asked, "link": offer["link"], "offer": offer["id"]}
