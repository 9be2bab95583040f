"""The particulars form: how a case fills it in, and how what was posted becomes a command's values."""

from __future__ import annotations

from typing import Any

from starlette.datastructures import FormData

from service.kit.errors import FieldError, Invalid
from service.recipients.rules import Purpose, Side
from service.recipients.schemas import RecipientView
from service.web.forms import filled

WAS = "was-"
"""Before a field's name: what it held when the form was opened. So two people can change different fields at once."""

_LATEX = {"yes": True, "no": False}
_LIMB_PARTS = ("cause", "level", "note")


def typed(person: RecipientView) -> dict[str, str]:
    """The form's fields as they stand in the register."""
    plain = person.model_dump(mode="json", include=set(_FIELDS))
    fields = {name: value for name, value in plain.items() if isinstance(value, str) and value}
    fields["latex_allergy"] = {True: "yes", False: "no", None: "not asked"}[person.latex_allergy]
    if person.town is not None:
        fields["town"] = str(person.town)
    for limb in person.limbs:
        fields |= {f"{limb.side}_cause": limb.cause, f"{limb.side}_level": limb.level}
        if limb.note:
            fields[f"{limb.side}_note"] = limb.note
    return fields


def registered(form: FormData) -> dict[str, Any]:
    """A new case's values: every field that was filled in; a namesake is asked about until it was confirmed."""
    values = _values(filled(form))
    confirmed = values.pop("confirmed", None)
    return {**values, "ask_about_namesake": confirmed is None}


def changed(form: FormData, person: RecipientView) -> dict[str, Any]:
    """The values of the fields that were altered on the form.

    Raises Invalid for a field that somebody else has changed meanwhile, and for a limb whose description was emptied.
    """
    sent, opened, now = filled(form), _opened(form), typed(person)
    if overtaken := _overtaken(form, person):
        told = [FieldError(name, _TOLD.format(now.get(name, "nothing"))) for name in sorted(overtaken)]
        raise Invalid("Somebody else changed this case since you opened the form.", fields=tuple(told))
    altered = _altered(sent, opened)
    fields = {name: sent.get(name, "") for name in altered}
    for side in Side:
        parts = [f"{side}_{part}" for part in _LIMB_PARTS]
        if altered.isdisjoint(parts):
            continue
        if opened.get(f"{side}_level") and not sent.get(f"{side}_level"):
            raise Invalid.at(f"{side}_level", "A limb that is described stays; change what is wrong about it.")
        # A limb is described whole; what was not altered of it is as it stands now, not as the form was opened.
        fields |= {name: now.get(name, "") for name in parts if name not in altered}
    if "confirmed" in sent:
        fields["confirmed"] = sent["confirmed"]
    return _values(fields)


def opened_again(form: FormData, person: RecipientView) -> dict[str, str]:
    """What each field is to be compared with when a refused form is sent again.

    A field that somebody else changed counts as seen now: sending the own value once more is a decision.
    """
    now = typed(person)
    return _opened(form) | {name: now.get(name, "") for name in _overtaken(form, person)}


def consents(form: FormData) -> list[dict[str, str]]:
    """One consent for each purpose that was ticked, all given by the same person on the same day."""
    values = filled(form)
    ticked = [purpose for purpose in Purpose if values.pop(f"purpose-{purpose}", None)]
    if not ticked:
        raise Invalid.at("purpose", "Tick at least one thing that was agreed to.")
    return [{**values, "purpose": purpose} for purpose in ticked]


_FIELDS = (
    *("given_name", "family_name", "birth_date", "sex", "language", "town", "state", "state_reason", "latex_allergy"),
    *("skin_allergies", "colour_wishes", "notes", "prescriber_name", "prescriber_profession"),
    *("prescriber_registration", "prescribed_on"),
    *(f"{side}_{part}" for side in Side for part in _LIMB_PARTS),
)


_TOLD = "Somebody changed this to “{}” since you opened the form. Keep what is right, and record again."


def _altered(sent: dict[str, str], opened: dict[str, str]) -> set[str]:
    return {name for name in _FIELDS if sent.get(name, "") != opened.get(name, "")}


def _overtaken(form: FormData, person: RecipientView) -> set[str]:
    """Altered fields that meanwhile hold something else than either the form was opened with or sends."""
    sent, opened, now = filled(form), _opened(form), typed(person)
    return {
        name for name in _altered(sent, opened) if now.get(name, "") not in {opened.get(name, ""), sent.get(name, "")}
    }


def _opened(form: FormData) -> dict[str, str]:
    was = {name: value for name, value in filled(form).items() if name.startswith(WAS)}
    return {name.removeprefix(WAS): value for name, value in was.items()}


def _values(posted: dict[str, str]) -> dict[str, Any]:
    values: dict[str, Any] = {name: value for name, value in posted.items() if not name.startswith(WAS)}
    limbs = []
    for side in Side:
        cause, level, note = (values.pop(f"{side}_{part}", "") for part in _LIMB_PARTS)
        if level and not cause:
            raise Invalid.at(f"{side}_cause", "Say whether it was so at birth or came later.")
        if cause and not level:
            raise Invalid.at(f"{side}_level", "Say where the limb ends.")
        if level:
            limbs.append({"side": side, "cause": cause, "level": level, "note": note})
    if limbs:
        values["limbs"] = limbs
    if "latex_allergy" in values:
        values["latex_allergy"] = _LATEX.get(values["latex_allergy"])
    for name in ("prescribed_on", "town"):
        if values.get(name) == "":
            values[name] = None
    return values
