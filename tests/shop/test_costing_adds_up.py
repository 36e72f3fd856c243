"""A job's sheet always adds up, whatever was worked and used."""

from decimal import ROUND_HALF_UP, Decimal

import pytest
from hypothesis import given
from hypothesis import strategies as st

from shop.costing import (
    Compared,
    EstimatedCost,
    MaterialLine,
    OperationHours,
    Rates,
    cost_job,
    hours_of,
    margin_of,
)
from shop.money import rounded

CURRENCIES = st.sampled_from(["USD", "JPY", "KWD"])


def money(most=100_000):
    return st.decimals(0, most, places=3)


def hours():
    return st.decimals(0, 500, places=4)


compared = st.builds(Compared, hours(), hours())
operations = st.lists(
    st.builds(
        OperationHours, st.integers(1, 99), st.just("w"), st.just("k"), st.just("s"),
        compared, compared,
    ),
    max_size=8,
)  # fmt: skip


@given(
    currency=CURRENCIES,
    rates=st.tuples(money(500), money(500), st.decimals(0, 5, places=4)),
    price=money(),
    estimated=st.tuples(money(), money(), money(), money(), money()),
    rows=operations,
    spent=st.lists(money(1000), max_size=8),
)
def test_parts_sum_to_totals(currency, rates, price, estimated, rows, spent):
    lines = [
        MaterialLine("c", "n", "ml", Compared(Decimal(0), Decimal(1)), Compared(Decimal(0), cost))
        for cost in (rounded(amount, currency) for amount in spent)
    ]
    sheet = cost_job(
        rates=Rates(currency, *rates),
        price=price,
        estimated=EstimatedCost(*estimated),
        operations=rows,
        material_lines=lines,
    )
    parts = (sheet.labour, sheet.bay, sheet.materials, sheet.overhead, sheet.card_fee)
    assert sheet.cost.actual == sum(part.actual for part in parts)
    assert sheet.cost.estimated == sum(estimated)
    assert sheet.cost.variance == sum(part.variance for part in parts)
    assert sheet.materials.actual == sum(line.cost.actual for line in lines)
    assert sheet.hours.actual == sum(row.labour.actual for row in rows)
    assert sheet.profit.actual + sheet.cost.actual == price
    # A better profit than estimated is a cost under the estimate, to the last unit.
    assert sheet.profit.variance == -sheet.cost.variance
    for part in parts:
        assert part.actual == rounded(part.actual, currency)


@given(price=money().filter(bool), cost=money())
def test_margin_is_a_share_of_the_price(price, cost):
    margin = margin_of(price, cost)
    assert margin is not None
    assert abs(price * (1 - margin) - cost) <= price * Decimal("0.00005")


def test_no_price_has_no_margin():
    assert margin_of(Decimal(0), Decimal(5)) is None


@pytest.mark.parametrize(
    ("seconds", "hours"), [(5400, "1.5"), (1, "0.0003"), (0, "0"), (0.5, "0.0001")]
)
def test_seconds_as_hours(seconds, hours):
    assert hours_of(seconds) == Decimal(hours)


def test_a_sheet_by_hand():
    # 2.5 h at 41.33 = 103.325 -> 103.33; overhead 35 % of that = 36.1655 -> 36.17;
    # bay 3 h at 9.99 = 29.97; materials 12.34. In all 181.81; price 250 leaves 68.19,
    # which is 27.276 % -> 0.2728.
    worked = OperationHours(
        1, "w", "k", "s",
        Compared(Decimal(2), Decimal("2.5")), Compared(Decimal(2), Decimal(3)),
    )  # fmt: skip
    line = MaterialLine(
        "c", "n", "ml",
        Compared(Decimal(1), Decimal(1)), Compared(Decimal(10), Decimal("12.34")),
    )  # fmt: skip
    sheet = cost_job(
        rates=Rates("USD", Decimal("41.33"), Decimal("9.99"), Decimal("0.35")),
        price=Decimal(250),
        estimated=EstimatedCost(Decimal(80), Decimal(20), Decimal(10), Decimal(28)),
        operations=[worked],
        material_lines=[line],
    )
    assert sheet.labour.actual == Decimal("103.33")
    assert sheet.overhead.actual == Decimal("36.17")
    assert sheet.cost == Compared(Decimal(138), Decimal("181.81"))
    assert sheet.margin_actual == Decimal("0.2728")
    assert sheet.margin_estimated == (Decimal(112) / 250).quantize(Decimal("0.0001"), ROUND_HALF_UP)
