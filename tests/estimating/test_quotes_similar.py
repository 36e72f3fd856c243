"""A quote beside the last three for similar vehicles: body, work, age, then the newest."""

from collections.abc import Callable
from datetime import timedelta
from typing import Any

import pytest

from estimating.models import Quote, QuoteState
from estimating.similar_quotes import quotes_similar
from shop.models import Shop
from tests.factories import NOW, QuoteFactory, VehicleFactory


def facts(level: str = "single", coating: str | None = None, age: int | None = 12) -> Any:
    return {
        "request": {
            "options": {"coating": coating},
            "document": {"vehicle": {"age_months": age} if age is not None else {}},
        },
        "estimate": {"panels": [{"level": "none"}, {"level": level}]},
    }


@pytest.fixture
def earlier(shop: Shop) -> Callable[..., Quote]:
    def make(days: int, body: str = "sedan", work: Any = None, **fields: Any) -> Quote:
        vehicle = fields.pop("vehicle", None) or VehicleFactory(shop=shop, body=body)
        made: Quote = QuoteFactory(
            vehicle=vehicle,
            created_at=NOW - timedelta(days=days),
            **(work or facts()),
            **fields,
        )
        return made

    return make


def names(quote: Quote) -> list[int]:
    return [other.pk for other in quotes_similar(quote)]


def test_same_work_first_then_age_then_the_newest(earlier: Callable[..., Quote]) -> None:
    other_level = earlier(1, work=facts("multi"))
    old_car = earlier(2, work=facts(age=90))
    long_ago, lately = earlier(9, work=facts(age=13)), earlier(3, work=facts(age=11))
    asked = earlier(0)
    assert names(asked) == [lately.pk, long_ago.pk, old_car.pk]
    assert other_level.pk not in names(asked)


def test_coating_is_part_of_the_work(earlier: Callable[..., Quote]) -> None:
    bare = earlier(1)
    coated = earlier(5, work=facts(coating="lantern", age=40))
    first, second = quotes_similar(earlier(0, work=facts(coating="lantern")))
    assert (first.pk, first.same_work, second.pk, second.same_work) == (
        coated.pk, True, bare.pk, False,
    )  # fmt: skip


def test_what_does_not_count(earlier: Callable[..., Quote]) -> None:
    earlier(1, body="van")
    earlier(1, state=QuoteState.REPLACED)
    earlier(1, currency="EUR")
    earlier(-1)  # later than the one asked about
    QuoteFactory(vehicle__body="sedan")  # another shop's
    first = earlier(1)
    asked = earlier(0, vehicle=first.vehicle, number=first.number, version=2)
    assert names(asked) == []


def test_an_unknown_age_comes_after_known_ones(earlier: Callable[..., Quote]) -> None:
    unknown, known = earlier(1, work=facts(age=None)), earlier(2, work=facts(age=200))
    assert names(earlier(0)) == [known.pk, unknown.pk]


def test_price_against_price(earlier: Callable[..., Quote]) -> None:
    earlier(1, price=320)
    (found,) = quotes_similar(earlier(0))
    assert found.price_ratio == pytest.approx(0.5)


@pytest.mark.parametrize("count", [2, 60])
def test_one_query(
    earlier: Callable[..., Quote], count: int, django_assert_num_queries: Any
) -> None:
    for days in range(1, count):
        earlier(days)
    asked = earlier(0)
    with django_assert_num_queries(1):
        assert len(quotes_similar(asked)) == min(3, count - 1)
