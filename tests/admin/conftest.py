"""Fixtures of the administration's tests: people, a clock that stands, a client for each."""

from collections.abc import Callable, Iterator

import pytest
import time_machine
from django.test import Client

from shop.models import Member
from tests.factories import NOW
from tests.people import people

__all__ = ["people"]


@pytest.fixture(autouse=True)
def _monday_morning() -> Iterator[None]:
    with time_machine.travel(NOW, tick=False):
        yield


@pytest.fixture
def client_of() -> Callable[[Member | None], Client]:
    """A signed-in browser of a member; of nobody for None."""

    def made(member: Member | None) -> Client:
        client = Client()
        if member is not None:
            client.force_login(member.user)
        return client

    return made
