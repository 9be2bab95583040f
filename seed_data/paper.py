"""The paper side of a case: particulars, who speaks for whom, consents, suitability, reviews, helpers, states."""

from __future__ import annotations

from random import Random

from seed_data.cast import YEAR, Event, Person
from seed_data.volunteering import town_of

_PRESCRIBERS = (
    ("Dr Maren Solvay", "consultant in rehabilitation medicine", "R-20417"),
    ("Idris Quillam", "prosthetist", "P-11862"),
    ("Dr Oonagh Tarrant", "paediatrician", "C-30955"),
)
_CLINICIAN = "Idris Quillam"
_FAMILY = (  # given name and relation
    ("Marta", "mother"),
    ("Leila", "mother"),
    ("Ruth", "mother"),
    ("Noor", "mother"),
    ("Ewa", "mother"),
    ("Joe", "father"),
    ("Anders", "father"),
    ("Tunde", "father"),
    ("Carmen", "grandmother"),
    ("Pavel", "grandfather"),
)
_AUNTS = ("Helle", "Bea", "Ines", "Sunita")
_WATCH = (
    "Skin over the end of the limb; stop if it stays red for more than 20 minutes.",
    "Thin skin at the end of the limb. Short wear at first, longer each week.",
    "Elbow turns out; see that the cuff does not press on the bone.",
    "Nothing beyond the usual checks.",
)
_COLOURS = (
    "green, with a dark blue palm",
    "all black",
    "yellow like a digger",
    "football club red",
    "",
    "",
    "sea blue",
    "",
)
_ALLERGIES = ("", "", "", "", "eczema in winter", "reacts to nickel", "plasters leave a rash")
_ASSENTS = (
    "Nodded and put the arm out.",
    "Said: yes, but I choose the colour.",
    "Drew the hand and gave us the drawing.",
)
_ALSO = {"first_name": 0.6, "statistics": 0.85}  # how many say yes to it beside what they have to
_CLOSED = {
    "closed": "Uses no device now and asked for the case to be closed.",
    "paused": "Operation on the wrist planned; waits for the surgeon.",
}
_NUMBERS_FOR_STORIES = "01632 960"  # kept free of subscribers by the regulator for use in fiction


def particulars(person: Person) -> Event:
    """The case as it was opened, on the day the family first asked."""
    draw = person.draws("particulars")
    contacts = _contacts(draw, person)
    return {
        "ago": person.asked_ago,
        "what": "registered",
        "site": person.site,
        "given_name": person.given,
        "family_name": person.family,
        "age_days": person.born_ago - person.asked_ago,
        "sex": person.sex,
        "language": person.language,
        "town": town_of(person),
        "state": "enquiry",
        "limbs": [{"side": limb.side, "cause": limb.cause, "level": limb.level} for limb in person.limbs],
        "contacts": contacts,
        "consents": _consents(draw, person, str(contacts[0]["name"])),
        "latex_allergy": None if "no-latex" in person.tags else draw.random() < 0.06,
        "skin_allergies": draw.choice(_ALLERGIES),
        "colour_wishes": draw.choice(_COLOURS) if person.is_child else "",
        "notes": person.notes,
    }


def _contacts(draw: Random, person: Person) -> list[Event]:
    if not person.is_child:
        return [_contact(draw, person, person.name, "themself", "unknown")]
    given, relation = draw.choice(_FAMILY)
    if "no-guardian" in person.tags:
        return [_contact(draw, person, f"{given} Hollins", "foster carer", "unknown")]
    contacts = [_contact(draw, person, f"{given} {person.family}", relation, "yes")]
    if "two-contacts" in person.tags:
        contacts.append(_contact(draw, person, f"{draw.choice(_AUNTS)} {person.family}", "aunt", "no"))
    return contacts


def _contact(draw: Random, person: Person, name: str, relation: str, responsibility: str) -> Event:
    reach = next((tag for tag in ("letter", "phone", "text") if tag in person.tags), "mail")
    contact: Event = {"name": name, "relation": relation, "responsibility": responsibility, "reach_by": reach}
    if reach == "mail":
        contact["email"] = f"family-{draw.randrange(1000, 10_000)}@post.example.org"
    if reach == "letter":
        contact["address"] = f"{draw.randint(1, 80)} Ropewalk, {person.site.upper()} {draw.randint(10, 99)}"
    if reach != "letter":
        contact["phone"] = f"{_NUMBERS_FOR_STORIES} {draw.randrange(1000):03d}"
    return contact


def papers(person: Person) -> list[Event]:
    """Everything after the case was opened."""
    draw = person.draws("papers")
    met = max(person.asked_ago - draw.randint(14, 40), 3)
    events = [*_suitability(draw, person, met - 2), *_reviews(person)]
    if person.state != "enquiry":
        events.append({"ago": met, "what": "changed", "state": "active", **_prescriber(draw, person)})
    if person.state in _CLOSED:
        ago = 200 if person.stopped_ago is None or "left" not in person.tags else person.stopped_ago - 25
        events.append({"ago": ago, "what": "changed", "state": person.state, "state_reason": _CLOSED[person.state]})
    if "withdrawn" in person.tags:
        events.append({"ago": 160, "what": "consent_withdrawn", "purpose": "photographs"})
    if "helper" in person.tags:
        events.append({"ago": max(met - 5, 1), "what": "helper", "who": "volunteer"})
    elif draw.random() < 0.2:
        events.append({"ago": max(met - 5, 1), "what": "helper", "who": "former volunteer"})
        events.append({"ago": max(met - 300, 1), "what": "helper_ended", "who": "former volunteer"})
    return events


def _prescriber(draw: Random, person: Person) -> Event:
    if "no-prescriber" in person.tags:
        return {}
    name, profession, registration = draw.choice(_PRESCRIBERS)
    return {"prescriber_name": name, "prescriber_profession": profession, "prescriber_registration": registration}


def _consents(draw: Random, person: Person, guardian: str) -> list[Event]:
    if "no-consent" in person.tags:
        return []
    decides = guardian if person.age - person.years < 16 else person.name
    purposes = ["records", "device", *(purpose for purpose, share in _ALSO.items() if draw.random() < share)]
    if "withdrawn" in person.tags or draw.random() < 0.5:
        purposes.append("photographs")
    consents: list[Event] = [{"purpose": purpose, "given_by": decides} for purpose in purposes]
    if person.is_child and "no-assent" not in person.tags:
        words = draw.choice(_ASSENTS)
        consents.append({"kind": "assent", "purpose": "device", "given_by": person.name, "words": words})
    return consents


def _suitability(draw: Random, person: Person, ago: int) -> list[Event]:
    if "no-suitability" in person.tags:
        return []
    if "not-yet" in person.tags:
        watch = "Sits and crawls well without; see again at two and a half."
        return [{"ago": ago, "what": "suitability", "verdict": "not_yet", "watch_for": watch, "noted_by": _CLINICIAN}]
    if person.state == "enquiry":
        return []
    watch = draw.choice(_WATCH)
    return [{"ago": ago, "what": "suitability", "verdict": "suitable", "watch_for": watch, "noted_by": _CLINICIAN}]


def _reviews(person: Person) -> list[Event]:
    outcomes = {
        16: "Decides about the device alone; parents copied in by choice.",
        18: "Case is theirs; contact changed to them.",
    }
    return [
        {"ago": round((person.age - age) * YEAR) - 9, "what": "review", "age": age, "outcome": outcome}
        for age, outcome in outcomes.items()
        if f"review{age}" in person.tags
    ]
