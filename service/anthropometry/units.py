"""Numbers as people write them, in the unit they name, turned into millimetres or kilograms."""

import re
from decimal import Decimal, InvalidOperation

from service.anthropometry.dimensions import Unit

_MILLIMETRES = {"mm": Decimal(1), "cm": Decimal(10), "m": Decimal(1000), "in": Decimal("25.4")}
_KILOGRAMS = {"kg": Decimal(1), "g": Decimal("0.001"), "lb": Decimal("0.45359237")}
UNITS: dict[Unit, dict[str, Decimal]] = {"mm": _MILLIMETRES, "kg": _KILOGRAMS}

_WITH_UNIT = re.compile(r"(\d+(?:[.,]\d+)?)\s*([a-z]+)\.?", re.IGNORECASE)


def split_unit(text: str) -> tuple[str, str | None]:
    """A number and the unit written after it: "162,8 mm" is ("162.8", "mm"); None where no unit of ours is written.

    What is no number comes back as it was, for whoever reads it to refuse.
    """
    found = _WITH_UNIT.fullmatch(text.strip())
    if found is None or found[2].lower() not in {*_MILLIMETRES, *_KILOGRAMS}:
        return text.strip().replace(",", "."), None
    return found[1].replace(",", "."), found[2].lower()


def in_millimetres(text: str) -> str:
    """A length in mm, or with its unit after it, as a number of mm; what is none is left for whoever reads it."""
    number, unit = split_unit(text)
    if unit is None or unit not in _MILLIMETRES:
        return number
    return str(Decimal(number) * _MILLIMETRES[unit])


def parse_size(number: str | float | Decimal, unit: str, into: Unit) -> float:
    """The size in `into` ("mm" or "kg"), converted exactly.

    A decimal comma is understood. Raises ValueError, saying what to do, when the number is not a finite positive
    number or the unit does not measure this kind of size.
    """
    written = str(number).strip().replace(",", ".")
    try:
        value = Decimal(written)
    except InvalidOperation:
        message = f"{number!r} is not a number: write the size in digits, for example 181.5"
        raise ValueError(message) from None
    if not value.is_finite() or value <= 0:
        message = f"{number!r} cannot be a size: write a number greater than zero"
        raise ValueError(message)
    factors = UNITS[into]
    if unit not in factors:
        message = f"{unit!r} is not a unit for this: use one of {', '.join(factors)}"
        raise ValueError(message)
    return float(value * factors[unit])
