"""What a job cost beside what it was estimated to cost: arithmetic without a database.

Hours are person-hours, kept to a ten-thousandth. Money is rounded half up to the
currency's smallest unit once for each part (labour, bay, each material,
overhead); totals are sums of rounded parts, so that a sheet always adds up.
A variance is actual minus estimated: above zero, the job took more than thought.
"""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass
from decimal import ROUND_HALF_UP, Decimal

from shop.money import rounded

ZERO = Decimal(0)
_HOUR_STEP = Decimal("0.0001")
_SHARE_STEP = Decimal("0.0001")


@dataclass(frozen=True, slots=True)
class Compared:
    """One figure twice: as estimated and as it came out, in the same unit."""

    estimated: Decimal
    actual: Decimal

    @property
    def variance(self) -> Decimal:
        """Actual minus estimated."""
        return self.actual - self.estimated

    def __add__(self, other: Compared) -> Compared:
        return Compared(self.estimated + other.estimated, self.actual + other.actual)


NOTHING = Compared(ZERO, ZERO)


@dataclass(frozen=True, slots=True)
class OperationHours:
    """Hours of one operation: ``labour`` by people, ``bay`` of the bay it kept."""

    sequence: int
    name: str
    kind: str
    state: str
    labour: Compared
    bay: Compared


@dataclass(frozen=True, slots=True)
class MaterialLine:
    """One item: quantity in ``unit``, and its cost."""

    code: str
    name: str
    unit: str
    quantity: Compared
    cost: Compared


@dataclass(frozen=True, slots=True)
class Rates:
    """As quoted: money for an hour of labour and of a bay, overhead as a share of labour."""

    currency: str
    labour_rate: Decimal
    bay_rate: Decimal
    overhead_rate: Decimal


@dataclass(frozen=True, slots=True)
class EstimatedCost:
    """The cost parts that the quote was made from; ``overtime`` was agreed when it was booked."""

    labour: Decimal
    bay: Decimal
    materials: Decimal
    overhead: Decimal
    card_fee: Decimal = ZERO
    overtime: Decimal = ZERO


@dataclass(frozen=True, slots=True)
class JobCosting:
    """A job's sheet. ``running`` says that somebody is at work, so hours still grow.

    ``margin`` is the share of the price that is left (not mark-up) after all cost,
    the card fee included; None where the price is nothing. The estimated cost of materials is
    the quote's figure; lines show what it was made of.
    """

    currency: str
    operations: tuple[OperationHours, ...]
    material_lines: tuple[MaterialLine, ...]
    hours: Compared
    bay_hours: Compared
    labour: Compared
    bay: Compared
    materials: Compared
    overhead: Compared
    card_fee: Compared
    overtime: Compared
    cost: Compared
    price: Decimal
    profit: Compared
    margin_estimated: Decimal | None
    margin_actual: Decimal | None
    running: bool


def hours_of(seconds: float | Decimal) -> Decimal:
    """Seconds as hours, to a ten-thousandth (about a third of a second)."""
    return (Decimal(str(seconds)) / 3600).quantize(_HOUR_STEP, ROUND_HALF_UP)


def margin_of(price: Decimal, cost: Decimal) -> Decimal | None:
    """Share of ``price`` left after ``cost``, to four places; None where price is zero."""
    if price == 0:
        return None
    return ((price - cost) / price).quantize(_SHARE_STEP, ROUND_HALF_UP)


def cost_job(
    *,
    rates: Rates,
    price: Decimal,
    estimated: EstimatedCost,
    operations: Iterable[OperationHours],
    material_lines: Iterable[MaterialLine],
    running: bool = False,
) -> JobCosting:
    """Put a job's sheet together.

    Actual labour and bay are actual hours at the rates of the quote, so that a
    variance shows time and not a later change of wages; overhead follows labour.
    The card fee hangs on the agreed price alone, so both sides have the same. Pay for
    overtime was not in the quote: it is nothing in the estimate and as booked in the actual.
    """
    operations, material_lines = tuple(operations), tuple(material_lines)
    hours = sum((row.labour for row in operations), NOTHING)
    bay_hours = sum((row.bay for row in operations), NOTHING)
    labour_cost = rounded(hours.actual * rates.labour_rate, rates.currency)
    labour = Compared(estimated.labour, labour_cost)
    bay = Compared(estimated.bay, rounded(bay_hours.actual * rates.bay_rate, rates.currency))
    spent = sum((row.cost.actual for row in material_lines), ZERO)
    materials = Compared(estimated.materials, spent)
    overhead = Compared(
        estimated.overhead, rounded(labour_cost * rates.overhead_rate, rates.currency)
    )
    card_fee = Compared(estimated.card_fee, rounded(estimated.card_fee, rates.currency))
    overtime = Compared(ZERO, rounded(estimated.overtime, rates.currency))
    cost = labour + bay + materials + overhead + card_fee + overtime
    return JobCosting(
        currency=rates.currency,
        operations=operations,
        material_lines=material_lines,
        hours=hours,
        bay_hours=bay_hours,
        labour=labour,
        bay=bay,
        materials=materials,
        overhead=overhead,
        card_fee=card_fee,
        overtime=overtime,
        cost=cost,
        price=price,
        profit=Compared(price - cost.estimated, price - cost.actual),
        margin_estimated=margin_of(price, cost.estimated),
        margin_actual=margin_of(price, cost.actual),
        running=running,
    )
