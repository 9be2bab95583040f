"""What the forms of builds post, read into what the commands take."""

from __future__ import annotations

from typing import Any

from starlette.datastructures import FormData

from service.builds.schemas import BuildView, ChooseItems, LogPrint, UseLots
from service.gate.checklists import CheckKind
from service.gate.schemas import SignCheck
from service.handovers.schemas import FitBuild
from service.kit.errors import Invalid
from service.web.forms import command, filled

_NUMBERS = frozenset({"hours", "grams", "cost", "amount", "scale_across", "scale_along"})


def _given(form: FormData) -> dict[str, str]:
    """What was typed, numbers with a comma as many people write them."""
    return {
        name: value.replace(",", ".") if name in _NUMBERS or name.startswith("value-") else value
        for name, value in filled(form).items()
    }


def logged(form: FormData) -> LogPrint:
    """One go at an item, with the spool it was printed from."""
    given = _given(form)
    values: dict[str, Any] = {
        name: given[name]
        for name in ("item", "hours", "grams", "cost", "remarks", "press", "on", "quantity", "printer")
        if name in given
    }
    if given.get("went") == "failed":
        if "failed" not in given:
            raise Invalid.at("failed", "Say why it failed: it tells who prints next what to look at.")
        values["failed"] = given["failed"]
    if "lot" in given:
        values["lots"] = [{"lot": given["lot"]}]
    return command(LogPrint, values)


def used(form: FormData) -> UseLots:
    """The lot that a bought item is from."""
    given = _given(form)
    lot = {"lot": given.get("lot", ""), "amount": given.get("amount")}
    return command(UseLots, {"item": given.get("item", ""), "lots": [lot]})


def chosen(view: BuildView, form: FormData) -> ChooseItems:
    """What was chosen before, without what is left out, and what is added."""
    given = _given(form)
    names = (
        "version",
        "kind",
        "what",
        "digit",
        "side",
        "scale_across",
        "scale_along",
        "material",
        "colour",
        "quantity",
    )
    kept = [
        {**{name: getattr(each, name) for name in (*names, "place", "spare")}, "kind": each.kind}
        for each in view.items
        if given.get("leave_out") != str(each.id)
    ]
    for each in kept:
        if each["version"] is not None:
            each["kind"] = None
        else:
            each |= {"scale_across": 1.0, "scale_along": None}
    added = {name: given[name] for name in names if name in given}
    if "leave_out" not in given:
        kept.append(added)
    return command(ChooseItems, {"items": kept})


def signed(form: FormData, kind: CheckKind, asked: list[str]) -> SignCheck:
    """A check, with a finding for each that was answered."""
    given = _given(form)
    findings = []
    for item in asked:
        if f"result-{item}" not in given:
            continue
        finding: dict[str, Any] = {"item": item, "result": given[f"result-{item}"], "why": given.get(f"why-{item}", "")}
        if f"value-{item}" in given:
            finding["value"] = given[f"value-{item}"]
        findings.append(finding)
    signs = [name.removeprefix("signs-") for name in given if name.startswith("signs-")]
    values = {"kind": kind, "findings": findings, "signs": signs, "remarks": given.get("remarks", "")}
    if "on" in given:
        values["on"] = given["on"]
    return command(SignCheck, values)


def fitted(form: FormData) -> FitBuild:
    """A fitting: the checks, what came off and why, what went over, who was told."""
    given = _given(form)
    checks: dict[str, Any] = {
        name: given[f"result-{name}"]
        for name in ("on_and_off", "gaping", "movement", "skin")
        if f"result-{name}" in given
    }
    checks |= {name: given[name] for name in ("worn_minutes", "words") if name in given}
    checks["signs"] = [name.removeprefix("signs-") for name in given if name.startswith("signs-")]
    came_off = []
    for name, why in given.items():
        what, _, number = name.partition("-")
        if what in {"off_part", "off_socket"} and number:
            came_off.append({what.removeprefix("off_"): number, "why": why})
    values: dict[str, Any] = {
        name: given[name]
        for name in ("on", "cautions_acknowledged_by", "guardian_present", "on_the_phone", "confirmed")
        if name in given
    }
    socks = [each for each in given.get("socks", "").replace(",", " ").split() if each]
    values |= {
        "checks": checks,
        "came_off": came_off,
        "moved": [name.removeprefix("moved-") for name in given if name.startswith("moved-")],
        "socks": [int(each) if each.isdigit() else each for each in socks],
        "by_family": "by_family" in given,
    }
    if "purpose" in given or "new_side" in given:
        values["device"] = {"purpose": given.get("purpose", "everyday"), "side": given.get("new_side")}
    return command(FitBuild, values)
