"""The owner edits holidays, shifts of every other week and overtime in the administration."""

from datetime import date

import pytest

from scheduling.models import Shift
from shop.models import Closure
from tests import factories as make
from tests.admin.forms import errors, filled


@pytest.fixture
def client(people, client_of):
    return client_of(people.owner)


@pytest.fixture
def crew(people):
    return make.CrewFactory(shop=people.shop)


def with_shift(client, crew, **fields):
    path = f"/admin/scheduling/resource/{crew.pk}/change/"
    data = filled(client.get(path)) | {"shifts-TOTAL_FORMS": 1}
    row = {"weekday": 5, "starts": "08:00", "ends": "12:00", "every_weeks": 1, **fields}
    return client.post(path, data | {f"shifts-0-{name}": value for name, value in row.items()})


def test_a_country_of_holidays_is_chosen(client, people):
    path = f"/admin/shop/shop/{people.shop.pk}/change/"
    data = filled(client.get(path), holiday_country="DE", holiday_subdivision="BY")
    assert client.post(path, data).status_code == 302
    people.shop.refresh_from_db()
    assert (people.shop.holiday_country, people.shop.holiday_subdivision) == ("DE", "BY")


@pytest.mark.parametrize(
    ("changes", "word"),
    [
        ({"holiday_country": "XY"}, "No holidays are known"),
        ({"holiday_country": "DE", "holiday_subdivision": "TX"}, "no part of DE"),
    ],
)
def test_an_unknown_region_is_refused(client, people, changes, word):
    path = f"/admin/shop/shop/{people.shop.pk}/change/"
    assert word in errors(client.post(path, filled(client.get(path), **changes)))


def test_a_holiday_is_worked(client, people):
    data = {"first_day": "2026-11-26", "last_day": "2026-11-26", "reason": "Busy", "worked": "on"}
    assert client.post("/admin/shop/closure/add/", data).status_code == 302
    assert Closure.objects.get(shop=people.shop).worked


def test_every_other_saturday_and_its_price(client, crew):
    fields = {"every_weeks": 2, "valid_from": "2026-03-07", "overtime_factor": "1.5"}
    assert with_shift(client, crew, **fields).status_code == 302
    shift = Shift.objects.get(resource=crew)
    assert shift.as_core().starts_on(date(2026, 3, 21))
    assert not shift.as_core().starts_on(date(2026, 3, 14))
    assert shift.is_overtime


@pytest.mark.parametrize(
    ("fields", "word"),
    [
        ({"every_weeks": 2}, "needs its first day"),
        ({"valid_from": "2026-03-07", "valid_to": "2026-03-01"}, "before the first day"),
        ({"valid_from": "2026-03-02", "valid_to": "2026-03-03"}, "does not come"),
        ({"overtime_factor": "1.5", "overtime_extra": "9"}, "one price"),
    ],
)
def test_a_shift_that_cannot_be_is_refused(client, crew, fields, word):
    answer = with_shift(client, crew, **fields)
    assert answer.status_code == 200
    assert word in answer.content.decode()
