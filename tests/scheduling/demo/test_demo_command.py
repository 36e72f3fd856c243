"""The demo tells one job in full, can be run again, and never touches a real shop."""

from io import StringIO
from typing import Any

import pytest
from django.core.management import CommandError, call_command

from shop.models import Job, JobState, Shop, User
from tests.factories import ShopFactory

pytestmark = pytest.mark.django_db


def told(**options: Any) -> str:
    out = StringIO()
    call_command("demo", stdout=out, calls=3, **options)
    return out.getvalue()


def test_every_step_of_the_job_is_told_and_twice_is_as_good_as_once() -> None:
    told()
    text = told()
    steps = [line.split(".")[0] for line in text.splitlines() if line[:1].isdigit()]
    assert steps == [str(number) for number in range(1, 10)]
    for fact in (
        "tailgate               none",  # 9.4 mil: refinished, left alone
        "1× deep scratch: sand",
        "Coating bay, Infrared lamp 1",
        "margin",
        "Booking confirmed",
    ):
        assert fact in text
    assert Shop.objects.count() == 1
    assert Job.objects.get(number="J-0001").state == JobState.CLOSED
    password = text.split("of all three is ")[1].split(" ")[0]
    assert User.objects.get(username="desk").check_password(password)


def test_a_database_with_a_real_shop_is_left_alone() -> None:
    real = ShopFactory()
    with pytest.raises(CommandError, match="real shop") as refused:
        told()
    assert refused.value.returncode == 2
    assert list(Shop.objects.all()) == [real]
