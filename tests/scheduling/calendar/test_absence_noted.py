"""An absence is noted once, with times that can be, and is taken back."""

from datetime import timedelta

import pytest

from scheduling.services.absences import absence_add, absence_end
from shop.refusals import Refused
from tests import factories as make
from tests.factories import NOW
from tests.scheduling.shops import small_shop

pytestmark = pytest.mark.django_db
HOUR = timedelta(hours=1)


@pytest.fixture
def small():
    return small_shop()


def away(small, start=NOW, end=NOW + 8 * HOUR, **changes):
    values = {"resource": small.crew, "member": small.desk, "reason": " Sick ", **changes}
    return absence_add(now=NOW, start=start, end=end, **values)


def test_it_is_noted_with_its_reason(small) -> None:
    made = away(small)
    assert (made.resource, made.start, made.end) == (small.crew, NOW, NOW + 8 * HOUR)
    assert made.reason == "Sick"


@pytest.mark.parametrize(
    ("hours", "said"),
    [
        ((2, 2), "Must be after"),
        ((-3, -1), "over already"),
        ((0, 24 * 401), "check the year"),
        ((7, 9), "noted as away already"),
    ],
)
def test_times_that_cannot_be_are_refused(small, hours, said) -> None:
    away(small)
    with pytest.raises(Refused, match=said):
        away(small, NOW + hours[0] * HOUR, NOW + hours[1] * HOUR)
    assert small.crew.absences.count() == 1


def test_one_that_touches_another_is_not_the_same(small) -> None:
    away(small)
    away(small, NOW + 8 * HOUR, NOW + 9 * HOUR)
    assert small.crew.absences.count() == 2


def test_what_is_of_another_shop_is_refused(small) -> None:
    with pytest.raises(Refused, match="Not of this shop"):
        away(small, member=make.MemberFactory())


def test_who_is_back_early_was_away_until_now(small) -> None:
    made = away(small)
    absence_end(absence=made, now=NOW + HOUR)
    made.refresh_from_db()
    assert made.end == NOW + HOUR


def test_one_that_has_not_begun_is_as_if_it_never_was(small) -> None:
    made = away(small, NOW + HOUR)
    absence_end(absence=made, now=NOW)
    assert not small.crew.absences.exists()
