"""`create_app(settings)`: the one place that knows every router and every way an error is answered."""

from __future__ import annotations

import gc
import threading
from collections.abc import AsyncIterator
from contextlib import asynccontextmanager
from pathlib import Path

import anyio.to_thread
from fastapi import APIRouter, FastAPI
from fastapi.staticfiles import StaticFiles
from starlette.middleware import Middleware

from service.accounts import api as accounts_api
from service.accounts import pages as accounts_pages
from service.accounts import town_pages
from service.accounts.queries import identify
from service.assembly import api as assembly_api
from service.assembly import pages as assembly_pages
from service.assembly import recording as parts_recording
from service.audit.actions import note_reads
from service.builds import api as builds_api
from service.calendars import pages as calendars_pages
from service.casefile import api as casefile_api
from service.casefile import measuring as measuring_pages
from service.casefile import pages as casefile_pages
from service.devices import api as devices_api
from service.devices import pages as devices_pages
from service.family import api as family_api
from service.family import device_pages as family_device_pages
from service.family import how_pages as family_how_pages
from service.family import notice_pages as family_notice_pages
from service.family import pages as family_pages
from service.family import photo_pages as family_photo_pages
from service.family import staff_pages as family_links
from service.figures import api as figures_api
from service.figures import pages as figures_pages
from service.figures import team_pages as figures_team_pages
from service.gate import api as gate_api
from service.gate import card_pages
from service.gate import pages as gate_pages
from service.growth import api as growth_api
from service.growth import pages as growth_pages
from service.handovers import api as handovers_api
from service.handovers import history_pages, passport_pages
from service.handovers import pages as build_pages
from service.kit.clock import Clock, clock_in
from service.kit.db import Database
from service.kit.files import Files
from service.lots import api as lots_api
from service.lots import pages as lots_pages
from service.matching import api as matching_api
from service.matching import pages as matching_pages
from service.measurements import api as measurements_api
from service.measurements import pages as measurements_pages
from service.notices import api as notices_api
from service.notices import pages as notices_pages
from service.notifications import api as notifications_api
from service.notifications import pages as notifications_pages
from service.outcomes import api as outcomes_api
from service.outcomes import goal_pages
from service.outcomes import pages as outcomes_pages
from service.parts import api as parts_api
from service.parts import downloads as parts_downloads
from service.parts import pages as parts_pages
from service.parts import shape_pages
from service.recipients import api as recipients_api
from service.recipients import pages as recipients_pages
from service.requests import api as requests_api
from service.requests import pages as requests_pages
from service.safety import api as safety_api
from service.safety import pages as safety_pages
from service.settings import Settings
from service.sizing import api as sizing_api
from service.sizing import pages as sizing_pages
from service.volunteers import api as volunteers_api
from service.volunteers import pages as volunteers_pages
from service.web import health, openapi, problems
from service.web.csrf import SameOriginOnly
from service.web.edge import Frame
from service.web.headers import SafeHeaders
from service.web.limits import BoundedRequest
from service.worker import run_until

FILES_AT = ("/versions", "/versions/new", "/shapes", "/shapes/new", "/photos")
"""How the addresses end to which files are sent."""

API = (
    *(recipients_api, measurements_api, devices_api, growth_api, sizing_api, casefile_api, accounts_api, lots_api),
    assembly_api,
    notifications_api,
    volunteers_api,
    parts_api,
    requests_api,
    matching_api,
    safety_api,
    builds_api,
    gate_api,
    notices_api,
    handovers_api,
    figures_api,
    outcomes_api,
    family_api,
)
# The case file comes last: its /recipients/{case_number} would take /recipients/new for a case.
PAGES = (
    recipients_pages,
    measurements_pages,
    measuring_pages,
    devices_pages,
    parts_recording,
    assembly_pages,
    growth_pages,
    sizing_pages,
    accounts_pages,
    town_pages,
    lots_pages,
    notifications_pages,
    volunteers_pages,
    parts_pages,
    shape_pages,
    matching_pages,
    requests_pages,
    safety_pages,
    notices_pages,
    build_pages,
    figures_team_pages,
    history_pages,
    gate_pages,
    calendars_pages,
    card_pages,
    passport_pages,
    outcomes_pages,
    goal_pages,
    figures_pages,
    family_device_pages,
    family_photo_pages,
    family_notice_pages,
    family_how_pages,
    family_pages,
    family_links,
    casefile_pages,
)


def create_app(settings: Settings, *, db: Database | None = None, clock: Clock | None = None) -> FastAPI:
    """The whole service, ready to serve; raises Misconfigured when a setting is missing."""
    settings.secret()
    app = FastAPI(
        title="Handspan",
        version="1",
        lifespan=_lifespan,
        redirect_slashes=False,
        docs_url=None,
        redoc_url=None,
        openapi_url="/api/v1/openapi.json",
        middleware=[
            Middleware(SafeHeaders),
            Middleware(SameOriginOnly, base_url=settings.base_url),
            Middleware(
                BoundedRequest,
                largest=settings.largest_body_bytes,
                largest_file=settings.largest_file_bytes,
                files_at=FILES_AT,
            ),
        ],
    )
    app.state.frame = frame_for(
        settings, db or Database(settings.database, at_once=settings.threads), clock or clock_in(settings.zone)
    )

    api = APIRouter(prefix="/api/v1", responses=problems.PROBLEM_RESPONSES)
    for slice_api in API:
        api.include_router(slice_api.router)
    app.include_router(api)
    for slice_pages in PAGES:
        app.include_router(slice_pages.router, include_in_schema=False)
    app.include_router(parts_downloads.router, include_in_schema=False)
    app.include_router(health.router, include_in_schema=False)
    app.mount("/static", StaticFiles(directory=Path(__file__).parent / "web" / "static"))
    problems.install(app)
    openapi.install(app)
    return app


def frame_for(settings: Settings, db: Database, clock: Clock) -> Frame:
    """What the edge is given; whatever differs between two registers is in it, and nothing of it in the routes."""
    return Frame(settings, db, clock, identify, note_reads, Files(settings.files))


@asynccontextmanager
async def _lifespan(app: FastAPI) -> AsyncIterator[None]:
    frame: Frame = app.state.frame
    anyio.to_thread.current_default_thread_limiter().total_tokens = frame.settings.threads
    stop, worker = threading.Event(), None
    if frame.settings.embedded_worker:
        known = (stop, frame.db, frame.clock, frame.settings)
        worker = threading.Thread(target=run_until, args=known, name="worker", daemon=True)
        worker.start()
    # What start-up built lives for good: taking it out of the collector's sight more than halves the p99.
    gc.collect()
    gc.freeze()
    yield
    stop.set()
    if worker is not None:
        worker.join(timeout=5)
    frame.db.close()
