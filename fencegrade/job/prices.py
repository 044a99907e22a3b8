"""Prices as they are typed: all of a job are in one money."""

from collections.abc import Mapping
from typing import Any

from msgspec import Struct

from fencegrade.units import UnitError, currency_of, parse_money

CURRENCY = ("job", "currency")
"""Table and key of the sign of all prices of a job."""


class TypedPrice(Struct, frozen=True, kw_only=True):
    """What one costs as it was typed; `sign`: of the job's prices with it, empty while none has one."""

    amount: float
    sign: str


def price_typed(text: str, before: str = "") -> TypedPrice:
    """A price as typed, of a job whose prices `before` have that sign, empty where they have none.

    The first sign that is typed is that of all. Errors: UnitError, also for a sign that is another.
    """
    own = currency_of(text)
    if before and own not in ("", before):
        found = f"{text} is in {own}, and prices before are in {before}."
        raise UnitError(found, "Write all of a job in one money.")
    return TypedPrice(amount=parse_money(text), sign=own or before)


def holds_price(tables: Any) -> bool:
    """Whether a price stands anywhere in the tables and lists of a job file."""
    if isinstance(tables, Mapping):
        return any(
            (key.rpartition("_")[2] == "price" and value is not None) or holds_price(value)
            for key, value in tables.items()
        )
    return isinstance(tables, list) and any(map(holds_price, tables))
