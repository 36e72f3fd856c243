"""Guessing a password is slowed down; the right person elsewhere is not kept out."""

import pytest
import time_machine
from django.conf import settings
from django.contrib.auth import authenticate, get_user_model
from django.test import RequestFactory

pytestmark = pytest.mark.django_db
RIGHT = "correct horse battery"
START = "2026-03-02T15:00:00+00:00"


def sign_in(password: str, *, name: str = "kim", address: str = "192.0.2.1") -> bool:
    request = RequestFactory().post("/", REMOTE_ADDR=address)
    return authenticate(request, username=name, password=password) is not None


@pytest.fixture(autouse=True)
def _user() -> None:
    get_user_model().objects.create_user(username="kim", password=RIGHT)


def use_up_the_tries() -> None:
    for _ in range(settings.SIGN_IN_TRIES):
        assert not sign_in("guess")


def test_the_right_password_works_up_to_the_last_try() -> None:
    for _ in range(settings.SIGN_IN_TRIES - 1):
        sign_in("guess")
    assert sign_in(RIGHT)


def test_after_too_many_even_the_right_password_waits() -> None:
    with time_machine.travel(START, tick=False) as clock:
        use_up_the_tries()
        assert not sign_in(RIGHT)
        clock.shift(settings.SIGN_IN_WAIT_SECONDS + 1)
        assert sign_in(RIGHT)


def test_another_address_is_not_kept_out() -> None:
    use_up_the_tries()
    assert sign_in(RIGHT, address="192.0.2.2")


def test_spelling_a_name_with_capitals_gives_no_new_tries() -> None:
    for _ in range(settings.SIGN_IN_TRIES):
        assert not sign_in("guess", name="KIM")
    assert not sign_in(RIGHT, name="kim")


def test_a_success_forgets_the_wrong_tries() -> None:
    for _ in range(settings.SIGN_IN_TRIES - 1):
        sign_in("guess")
    assert sign_in(RIGHT)
    for _ in range(settings.SIGN_IN_TRIES - 1):
        sign_in("guess")
    assert sign_in(RIGHT)
