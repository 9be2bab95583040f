"""HTML face of builds, from the bench to the limb: made for one hand on a phone, in a workshop and in a doorway."""

from __future__ import annotations

from typing import Annotated

from fastapi import APIRouter, Query, Request
from fastapi.responses import RedirectResponse, Response

from service.access.work import Work
from service.builds import actions as making
from service.builds import queries as builds
from service.builds.schemas import BuildFilter, DiscardPrint, OpenBuild
from service.gate import actions as gate
from service.gate.checklists import CheckKind
from service.gate.schemas import Accept, MoveBuild
from service.handovers import actions, posted, showing
from service.handovers.schemas import DeliverBuild
from service.kit.schema import Id
from service.safety.limits import skin_limits
from service.safety.rules import SkinLimits
from service.web.edge import frame, reads, writes
from service.web.forms import UNTOUCHED, Posted, command, filled, shown_again
from service.web.render import render

router = APIRouter(prefix="/builds")

BUILD = "builds/build.html"


@router.get("")
@reads
def all_builds(work: Work, request: Request, wanted: Annotated[BuildFilter, Query()]) -> Response:
    """What is being made, by what is to be done next; of one request, its build."""
    if wanted.request is not None and (found := builds.builds(work, wanted).items):
        return RedirectResponse(f"/builds/{found[-1].id}", 303)
    return render(request, "builds/list.html", showing.of_list(work, wanted))


@router.post("")
@writes
def open_build(work: Work, form: Posted) -> Response:
    """Begin what answers a request; where that is begun already, go to it."""
    wanted = command(OpenBuild, filled(form))
    there = builds.builds(work, BuildFilter(request=wanted.request)).items
    standing = [each.id for each in there if each.state.value != "dropped"]
    return _to(standing[0] if standing else making.open_build(work, wanted).id, "build-opened")


@router.get("/{build_id}")
@reads
def build(work: Work, request: Request, build_id: Id) -> Response:
    """A build: what is made, what stands in its way, and what is to be done next."""
    return render(request, BUILD, {**showing.of_build(work, build_id), **UNTOUCHED})


@router.post("/{build_id}/moves")
@writes
def move(work: Work, form: Posted, build_id: Id) -> Response:
    """Move a build on, or send it back."""
    with shown_again(BUILD, form, lambda: showing.of_build(work, build_id)):
        moved = gate.move_build(work, build_id, command(MoveBuild, filled(form)))
    return _to(build_id, f"build-{moved.state.value.replace('_', '-')}")


@router.get("/{build_id}/print")
@reads
def print_form(work: Work, request: Request, build_id: Id) -> Response:
    """The form that logs a print."""
    return render(request, "builds/print.html", {**showing.of_print(work, build_id), **UNTOUCHED})


@router.post("/{build_id}/print")
@writes
def log_print(work: Work, form: Posted, build_id: Id) -> Response:
    """Log a print."""
    with shown_again("builds/print.html", form, lambda: showing.of_print(work, build_id)):
        making.log_print(work, build_id, posted.logged(form))
    return _to(build_id, "print-logged")


@router.post("/{build_id}/prints/{print_id}/discard")
@writes
def discard(work: Work, form: Posted, build_id: Id, print_id: Id) -> Response:
    """Say that what came out is not in the build any more."""
    with shown_again(BUILD, form, lambda: showing.of_build(work, build_id)):
        making.discard_print(work, build_id, print_id, command(DiscardPrint, filled(form)))
    return _to(build_id, "print-discarded")


@router.get("/{build_id}/lots")
@reads
def lots_form(work: Work, request: Request, build_id: Id) -> Response:
    """The form that names the lots of bought things."""
    return render(request, "builds/lots.html", {**showing.of_lots(work, build_id), **UNTOUCHED})


@router.post("/{build_id}/lots")
@writes
def use_lots(work: Work, form: Posted, build_id: Id) -> Response:
    """Name the lot of a bought thing."""
    with shown_again("builds/lots.html", form, lambda: showing.of_lots(work, build_id)):
        making.use_lots(work, build_id, posted.used(form))
    return _to(build_id, "lots-used")


@router.get("/{build_id}/items")
@reads
def items_form(work: Work, request: Request, build_id: Id) -> Response:
    """The form that chooses what is made."""
    return render(request, "builds/items.html", {**showing.of_items(work, build_id), **UNTOUCHED})


@router.post("/{build_id}/items")
@writes
def choose_items(work: Work, form: Posted, build_id: Id) -> Response:
    """Choose what is made."""
    with shown_again("builds/items.html", form, lambda: showing.of_items(work, build_id)):
        making.choose_items(work, build_id, posted.chosen(builds.build(work, build_id), form))
    return _to(build_id, "items-chosen")


@router.get("/{build_id}/check/{kind}")
@reads
def check_form(work: Work, request: Request, build_id: Id, kind: CheckKind) -> Response:
    """The form of a check: all that it asks for."""
    return render(request, "builds/check.html", {**showing.of_check(work, build_id, kind, _skin(request)), **UNTOUCHED})


@router.post("/{build_id}/check/{kind}")
@writes
def sign_check(work: Work, request: Request, form: Posted, build_id: Id, kind: CheckKind) -> Response:
    """Sign a check."""
    with shown_again("builds/check.html", form, lambda: showing.of_check(work, build_id, kind, _skin(request))):
        asked = [each.item for each in showing.of_check(work, build_id, kind, _skin(request))["asked"]]
        signed = gate.sign_check(work, build_id, posted.signed(form, kind, asked), _skin(request))
    return _to(build_id, "check-passed" if signed.passed else "check-failed")


@router.post("/{build_id}/acceptances")
@writes
def accept(work: Work, form: Posted, build_id: Id) -> Response:
    """Accept a block in writing, as a clinician."""
    with shown_again(BUILD, form, lambda: showing.of_build(work, build_id)):
        gate.accept(work, build_id, command(Accept, filled(form)))
    return _to(build_id, "block-accepted")


@router.get("/{build_id}/delivered")
@reads
def delivery_form(work: Work, request: Request, build_id: Id) -> Response:
    """The form that records a delivery, in a doorway."""
    return render(request, "builds/delivered.html", {**showing.of_delivery(work, build_id), **UNTOUCHED})


@router.post("/{build_id}/delivered")
@writes
def deliver(work: Work, form: Posted, build_id: Id) -> Response:
    """Record a delivery."""
    with shown_again("builds/delivered.html", form, lambda: showing.of_delivery(work, build_id)):
        actions.deliver(work, build_id, command(DeliverBuild, filled(form)))
    return _to(build_id, "build-delivered")


@router.post("/{build_id}/put-on")
@writes
def put_on(work: Work, request: Request, form: Posted, build_id: Id) -> Response:
    """It is put on now."""
    with shown_again(BUILD, form, lambda: showing.of_build(work, build_id)):
        actions.put_on(work, build_id, _skin(request))
    return RedirectResponse(f"/builds/{build_id}/fitted?done=put-on", 303)


@router.get("/{build_id}/fitted")
@reads
def fitting_form(work: Work, request: Request, build_id: Id) -> Response:
    """The form of a fitting."""
    return render(request, "builds/fitted.html", {**showing.of_fitting(work, build_id, _skin(request)), **UNTOUCHED})


@router.post("/{build_id}/fitted")
@writes
def fit(work: Work, request: Request, form: Posted, build_id: Id) -> Response:
    """Record a fitting."""
    with shown_again("builds/fitted.html", form, lambda: showing.of_fitting(work, build_id, _skin(request))):
        found = actions.fit(work, build_id, posted.fitted(form), _skin(request))
    return _to(build_id, "build-fitted" if found.state == "fitted" else "fitting-failed")


def _skin(request: Request) -> SkinLimits:
    return skin_limits(frame(request).settings)


def _to(build_id: int, done: str) -> Response:
    return RedirectResponse(f"/builds/{build_id}?done={done}", 303)
