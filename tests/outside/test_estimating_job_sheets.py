"""Costs and margins against worked figures of an open textbook.

M. Franklin, P. Graybeal, D. Cooper, Principles of Accounting, Volume 2: Managerial
Accounting, OpenStax 2019 (CC BY-NC-SA 4.0; figures only), by section.
"""

from dataclasses import replace
from decimal import Decimal

import pytest

from estimating.core.costing import (
    direct_cost,
    margin_to_markup,
    markup_to_margin,
    price_for_margin,
    priced_at,
)
from tests.estimating.core.cases import TERMS

PLAIN = replace(
    TERMS,
    bay_rate=Decimal(0),
    card_fee_share=Decimal(0),
    tax_rate=Decimal(0),
    rounding_step=Decimal("0.01"),
)


def test_4_5_job_of_931():
    # Materials 700, labour 66, overhead 2.50 a labour dollar.
    terms = replace(PLAIN, labour_rate=Decimal(33), overhead_rate=Decimal("2.50"))
    cost = direct_cost(120.0, 0.0, Decimal(700), terms)
    assert (cost.labour, cost.overhead, cost.total) == tuple(map(Decimal, (66, 165, 931)))
    sold = priced_at(Decimal(2000), cost, terms)
    assert sold.net - sold.cost.total == 1069
    assert sold.margin == pytest.approx(Decimal("0.5345"))
    assert sold.markup == pytest.approx(Decimal("1.148228"), abs=Decimal("1e-6"))


def test_4_8_repair_job_of_192():
    # A part at 42, three hours at 25, overhead equal to labour.
    terms = replace(PLAIN, labour_rate=Decimal(25), overhead_rate=Decimal(1))
    cost = direct_cost(180.0, 0.0, Decimal(42), terms)
    assert (cost.labour, cost.overhead, cost.total) == tuple(map(Decimal, (75, 75, 192)))


@pytest.mark.parametrize(
    ("cost", "markup", "price"),
    [
        ("12", "0.30", "15.60"),
        ("10", "0.30", "13.00"),
        ("9", "0.20", "10.80"),
        ("8", "0.20", "9.60"),
    ],
)
def test_9_4_markup_on_cost(cost, markup, price):
    made = direct_cost(0.0, 0.0, Decimal(cost), PLAIN)
    priced = price_for_margin(made, markup_to_margin(Decimal(markup)), PLAIN)
    assert priced.shown == Decimal(price)


@pytest.mark.parametrize(
    ("margin", "markup"),
    [
        (".20", ".25"),
        (".25", ".333333"),
        (".30", ".428571"),
        (".40", ".666667"),
        (".50", "1"),
        (".60", "1.5"),
    ],
)
def test_margin_is_not_markup(margin, markup):
    found = margin_to_markup(Decimal(margin))
    assert found == pytest.approx(Decimal(markup), abs=Decimal("1e-6"))
    assert markup_to_margin(found) == pytest.approx(Decimal(margin))
