"""Job sheets of a textbook, numbers only.

M. Franklin, P. Graybeal, D. Cooper, *Principles of Accounting, Volume 2:
Managerial Accounting*, OpenStax 2019.
"""

from decimal import Decimal

import pytest

from shop.costing import Compared, EstimatedCost, MaterialLine, OperationHours, Rates, cost_job

ZERO = Decimal(0)
NO_ESTIMATE = EstimatedCost(ZERO, ZERO, ZERO, ZERO)


def sheet(rates, price, hours, materials):
    worked = Compared(ZERO, Decimal(hours))
    lines = [
        MaterialLine("part", "Part", "each", Compared(ZERO, ZERO), Compared(ZERO, Decimal(cost)))
        for cost in materials
    ]
    return cost_job(
        rates=rates,
        price=Decimal(price),
        estimated=NO_ESTIMATE,
        operations=[OperationHours(1, "Work", "correction", "done", worked, Compared(ZERO, ZERO))],
        material_lines=lines,
    )


def test_service_repair_job_of_section_4_8():
    # A part of 42, three hours at 25, overhead equal to labour; billed 70 + 3 × 80.
    rates = Rates("USD", Decimal(25), ZERO, Decimal(1))
    found = sheet(rates, 70 + 3 * 80, 3, [42])
    assert found.labour.actual == 75
    assert found.overhead.actual == 75
    assert found.cost.actual == 192
    assert found.price == 310
    assert found.profit.actual == 118


def test_production_job_of_section_4_5():
    # Materials of six requisitions, labour 15 + 15 + 36 dollars, overhead 2.50 for
    # each labour dollar. (The sheet's picture says 1.50; its sums use 2.50.)
    rates = Rates("USD", Decimal(1), ZERO, Decimal("2.50"))
    found = sheet(rates, 2000, 15 + 15 + 36, [300, 100, 60, 60, 120, 60])
    assert found.materials.actual == 700
    assert found.labour.actual == 66
    assert found.overhead.actual == 165
    assert found.cost.actual == 931
    assert found.profit.actual == 1069
    # Margin on price, not the mark-up of 114.82 % on cost.
    assert found.margin_actual == pytest.approx(Decimal("0.5345"), abs=Decimal("0.00005"))
