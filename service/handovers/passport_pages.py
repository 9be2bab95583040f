"""The passport of a device: as a page, and as a PDF to print or to keep."""

from __future__ import annotations

from typing import Annotated, Any

from fastapi import APIRouter, Depends, Request
from fastapi.responses import Response

from service.access.work import Work
from service.handovers.paper import as_pdf
from service.handovers.queries import passport
from service.handovers.rules import WEAR_IN, cautions
from service.kit.days import full_day
from service.kit.schema import Id
from service.web.edge import frame, reads
from service.web.qr import code
from service.web.render import render

router = APIRouter()

ADDRESS = "/recipients/{case_number}/devices/{device}/passport"


@reads
def context(work: Work, request: Request, case_number: str, device: Id) -> dict[str, Any]:
    """What the page and the paper show; read before the PDF is made, so that no session waits for it."""
    settings = frame(request).settings
    found = passport(work, case_number, device, maker=settings.charity_name)
    at = f"{settings.base_url.rstrip('/')}/recipients/{found.case_number}/devices/{found.device}"
    return {
        "passport": found,
        "code": code(at),
        "cautions": cautions(settings.skin_fades_minutes),
        "wear_in": list(WEAR_IN),
        "charity": settings.charity_name,
        "phone": settings.charity_phone,
        "printed_on": work.today,
    }


Seen = Annotated[dict[str, Any], Depends(context)]


@router.get(ADDRESS)
def page(request: Request, seen: Seen) -> Response:
    """The passport of a device."""
    return render(request, "handovers/passport.html", seen)


@router.get(f"{ADDRESS}.pdf")
def paper(seen: Seen) -> Response:
    """The same, as a tagged PDF."""
    name = f'inline; filename="passport-of-device-{seen["passport"].device}.pdf"'
    return Response(as_pdf(_data(seen)), media_type="application/pdf", headers={"Content-Disposition": name})


def _data(seen: dict[str, Any]) -> dict[str, Any]:
    """What the paper's template is given: texts, each day in words."""
    found = seen["passport"]
    data: dict[str, Any] = found.model_dump(mode="json")
    for told, part in zip(data["parts"], found.parts, strict=True):
        told["since"] = full_day(part.since)
    stopped = full_day(found.stopped_on) if found.stopped_on else ""
    days = {"printed_on": full_day(seen["printed_on"]), "stopped_on": stopped}
    texts = {name: seen[name] for name in ("cautions", "wear_in", "charity", "phone")}
    return {**data, **days, **texts, "code": seen["code"].svg, "address": seen["code"].address}
