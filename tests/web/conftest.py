"""A working shop with its catalogue, a caller's vehicle and an inspection; browsers by role."""

from __future__ import annotations

from collections.abc import Callable, Iterator
from dataclasses import dataclass
from datetime import date
from typing import Any

import pytest
import time_machine
from django.conf import settings
from django.test import Client

from estimating.core.options import Options
from estimating.models import Inspection, Quote
from estimating.services.catalogue import catalogue_store
from estimating.services.estimates import catalogue_read
from estimating.services.inspections import inspection_save
from scheduling.services.calls import Caller, Wish, call_quote
from shop.models import Member, Vehicle
from tests import factories as make
from tests.factories import NOW, catalogue_text, fender
from tests.scheduling.shops import Small, small_shop


@dataclass
class World:
    """The shop, a vehicle with an inspection, and somebody who owns another shop."""

    small: Small
    vehicle: Vehicle
    inspection: Inspection
    outsider: Member

    def client(self, who: str) -> Client:
        """A browser in which owner, desk, tech or outsider is signed in."""
        member = self.outsider if who == "outsider" else getattr(self.small, who)
        client = Client()
        client.force_login(member.user)
        return client

    def quote(self, **changes: Any) -> Quote:
        """A quote of the vehicle by phone, or as ``changes`` to the wish say."""
        wish = Wish(**{"goal": {"cleared": 0.6}, "options": Options(), **changes})
        return call_quote(
            member=self.small.desk, caller=Caller(vehicle=self.vehicle), wish=wish, now=NOW
        )


@pytest.fixture
def world(db: None, tmp_path: Any, monkeypatch: pytest.MonkeyPatch) -> Iterator[World]:
    monkeypatch.setattr(settings, "VAR_DIR", tmp_path)
    with time_machine.travel(NOW, tick=False):
        yield made()


def made() -> World:
    """The world, wherever the clock stands."""
    small = small_shop()
    catalogue_store(
        shop=small.shop, catalogue=catalogue_read(catalogue_text()), day=date(2026, 1, 1)
    )
    customer = make.CustomerFactory(shop=small.shop, name="Ada Rowe", phone="+12025550123")
    vehicle = make.VehicleFactory(customer=customer, plate="KX 407")
    inspection = inspection_save(
        vehicle=vehicle,
        member=small.tech,
        now=NOW,
        document={"unit": "mil", "panels": [fender()]},
    )
    return World(small, vehicle, inspection, make.MemberFactory())


@pytest.fixture
def owner(world: World) -> Client:
    return world.client("owner")


@pytest.fixture
def desk(world: World) -> Client:
    return world.client("desk")


@pytest.fixture
def text() -> Callable[[Any], str]:
    """The words of an answer without its runs of white space."""
    return lambda answer: " ".join(answer.content.decode().split())
