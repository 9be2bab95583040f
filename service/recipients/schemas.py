"""Commands and views of a case."""

from __future__ import annotations

from datetime import date
from typing import Annotated, Self

from pydantic import AfterValidator, BeforeValidator, ConfigDict, Field, model_validator

from service.kit.paging import Listing
from service.kit.schema import Command, Day, Id, Line, Text, View
from service.recipients.languages import checked_language
from service.recipients.rules import (
    CaseState,
    Cause,
    ConsentKind,
    Level,
    Purpose,
    Reach,
    Responsibility,
    Sex,
    Side,
    Verdict,
)


class AddLimb(Command):
    """An affected limb: which side, since when, and where it ends."""

    side: Side
    cause: Cause
    level: Level
    note: Text = ""


class AddContact(Command):
    """A guardian or other family contact, and how they want to be reached."""

    name: Line
    relation: Text = ""
    responsibility: Responsibility = Responsibility.UNKNOWN
    reach_by: Reach
    email: Text = ""
    phone: Text = ""
    address: Text = ""

    @model_validator(mode="after")
    def _can_be_reached(self) -> Self:
        needed = {Reach.MAIL: self.email, Reach.TEXT: self.phone, Reach.PHONE: self.phone, Reach.LETTER: self.address}
        if not needed[self.reach_by]:
            raise ValueError(f"To reach them by {self.reach_by}, give the address or number for it")
        return self


class AddConsent(Command):
    """A yes to one purpose: by whoever may decide (consent), or by the child in the child's own way (assent)."""

    kind: ConsentKind = ConsentKind.CONSENT
    purpose: Purpose
    given_by: Line
    given_on: Day
    words: Text = ""


class EndOn(Command):
    """The day something came to its end; today when it is not said."""

    on: Day | None = None


class AddSuitability(Command):
    """A clinician's note: whether a device is suitable, and what to watch."""

    verdict: Verdict
    watch_for: Text = ""
    noted_by: Line
    noted_on: Day


class AddHelper(Command):
    """A volunteer of this site who is asked to help with the case."""

    account: Annotated[int, Field(ge=1, le=2**31 - 1)]


class HoldReview(Command):
    """The review at 16 or 18, held."""

    age: Annotated[int, Field(ge=16, le=18)]
    held_on: Day
    outcome: Line


Language = Annotated[str, AfterValidator(checked_language)]
NO_CHOICE = BeforeValidator(lambda given: given or None)
"""On a field of a query: an empty choice, as a form sends it, is no choice."""

_Limbs = Annotated[tuple[AddLimb, ...], Field(max_length=2)]


class _Particulars(Command):
    """What a new case and a change to one may both say."""

    language: Language = "en"
    town: Id | None = None
    state: CaseState = CaseState.ACTIVE
    state_reason: Text = ""
    limbs: _Limbs = ()
    latex_allergy: bool | None = None
    skin_allergies: Text = ""
    colour_wishes: Text = ""
    notes: Text = ""
    prescriber_name: Text = ""
    prescriber_profession: Text = ""
    prescriber_registration: Text = ""
    prescribed_on: Day | None = None

    @model_validator(mode="after")
    def _one_a_side(self) -> Self:
        if len({limb.side for limb in self.limbs}) < len(self.limbs):
            raise ValueError("Each side can be given once. Put both findings of one side into one limb")
        return self


class AddRecipient(_Particulars):
    """Open a case. `site` is a site's code; without it, the first site you belong to.

    With `ask_about_namesake`, as the form sends it, somebody of the same name and birth date is doubted first.
    """

    model_config = ConfigDict(
        json_schema_extra={
            "example": {
                "given_name": "Ines",
                "family_name": "Okafor",
                "birth_date": "2018-05-04",
                "sex": "female",
                "limbs": [{"side": "left", "cause": "congenital", "level": "forearm_upper"}],
            }
        }
    )

    given_name: Line
    family_name: Line
    birth_date: Day
    sex: Sex
    site: Line | None = None
    contacts: Annotated[tuple[AddContact, ...], Field(max_length=10)] = ()
    consents: Annotated[tuple[AddConsent, ...], Field(max_length=20)] = ()
    ask_about_namesake: bool = False


class ChangeRecipient(_Particulars):
    """New particulars; what is left out stays as it is. `limbs` replaces the description of the sides it names.

    A birth date that moves by more than a year is asked about: `confirmed` says that it is right.
    """

    model_config = ConfigDict(json_schema_extra={"example": {"colour_wishes": "green, with a dark blue palm"}})

    given_name: Line = ""
    family_name: Line = ""
    birth_date: Day = date.min
    sex: Sex = Sex.UNSPECIFIED
    confirmed: bool = False


class LimbView(View):
    """An affected limb; `words` says it as the standard for its cause does."""

    side: Side
    cause: Cause
    level: Level
    note: str
    words: str


class ContactView(View):
    """A contact."""

    id: int
    name: str
    relation: str
    responsibility: Responsibility
    reach_by: Reach
    email: str
    phone: str
    address: str
    ended_on: date | None


class ConsentView(View):
    """A consent or assent; it stands until withdrawn."""

    id: int
    kind: ConsentKind
    purpose: Purpose
    given_by: str
    given_on: date
    words: str
    withdrawn_on: date | None


class SuitabilityView(View):
    """A clinician's note."""

    verdict: Verdict
    watch_for: str
    noted_by: str
    noted_on: date


class HelperView(View):
    """A volunteer who helps with the case now."""

    account: int
    name: str
    since: date


class ReviewView(View):
    """A review at 16 or 18: the birthday it belongs to, and when it was held or None."""

    age: int
    due_on: date
    held_on: date | None
    outcome: str


class RecipientLine(View):
    """A recipient in a list."""

    case_number: str
    given_name: str
    family_name: str
    birth_date: date
    site: str
    site_name: str
    state: CaseState


class RecipientView(RecipientLine):
    """A whole case's particulars. `missing` says in words what is still needed."""

    sex: Sex
    language: str
    language_name: str
    town: int | None
    town_name: str | None
    state_reason: str
    state_since: date
    limbs: list[LimbView]
    contacts: list[ContactView]
    former_contacts: list[ContactView]
    consents: list[ConsentView]
    suitability: list[SuitabilityView]
    helpers: list[HelperView]
    reviews: list[ReviewView]
    latex_allergy: bool | None
    skin_allergies: str
    colour_wishes: str
    notes: str
    prescriber_name: str
    prescriber_profession: str
    prescriber_registration: str
    prescribed_on: date | None
    missing: list[str]


class SeenRecipient(View):
    """What other rooms need of a recipient the actor may see."""

    id: int
    case_number: str
    site_id: int
    given_name: str
    family_name: str
    birth_date: date
    sex: Sex
    state: CaseState
    limbs: dict[Side, Level]


class RecipientFilter(Listing):
    """What to list; an empty choice, as a form sends it, is no choice."""

    q: Annotated[Text, Field(max_length=200, description="Part of a name, or the first digits of a case number.")] = ""
    site: Annotated[Text | None, Field(max_length=20, description="A site's code."), NO_CHOICE] = None
    state: Annotated[CaseState | None, NO_CHOICE] = None
