"""Fixtures of the tests over HTTP: people, a client for each, and a clock that stands."""

from collections.abc import Callable, Iterator

import pytest
import time_machine
from rest_framework.test import APIClient

from shop.models import Member
from tests.factories import NOW
from tests.people import people

__all__ = ["people"]


@pytest.fixture(autouse=True)
def _monday_morning() -> Iterator[None]:
    with time_machine.travel(NOW, tick=False):
        yield


@pytest.fixture
def client_of() -> Callable[[Member | None], APIClient]:
    """A signed-in client of a member; of nobody for None. Errors of ours are raised."""

    def made(member: Member | None) -> APIClient:
        client = APIClient()
        if member is not None:
            client.force_login(member.user)
        return client

    return made
