"""Numbers as people write them, in the unit they name, turned into millimetres or kilograms."""

from decimal import Decimal, InvalidOperation

from service.anthropometry.dimensions import Unit

_MILLIMETRES = {"mm": Decimal(1), "cm": Decimal(10), "m": Decimal(1000), "in": Decimal("25.4")}
_KILOGRAMS = {"kg": Decimal(1), "g": Decimal("0.001"), "lb": Decimal("0.45359237")}
UNITS: dict[Unit, dict[str, Decimal]] = {"mm": _MILLIMETRES, "kg": _KILOGRAMS}


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
