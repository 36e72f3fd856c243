"""A shop with the demo catalogue, a vehicle in it, and an inspection of the vehicle."""

from collections.abc import Callable
from typing import Any

import pytest

from estimating.core.options import Options
from estimating.models import Inspection, Quote
from estimating.services.inspections import inspection_save
from estimating.services.quotes import quote_make
from shop.models import Member, Shop, Vehicle
from tests.factories import NOW, MemberFactory, VehicleFactory, fender, stocked_shop


@pytest.fixture
def shop(db: None) -> Shop:
    return stocked_shop()


@pytest.fixture
def owner(shop: Shop) -> Member:
    member: Member = MemberFactory(shop=shop)
    return member


@pytest.fixture
def vehicle(shop: Shop) -> Vehicle:
    made: Vehicle = VehicleFactory(shop=shop)
    return made


@pytest.fixture
def inspection(vehicle: Vehicle, owner: Member) -> Inspection:
    return inspection_save(
        vehicle=vehicle, member=owner, now=NOW, document={"unit": "mil", "panels": [fender()]}
    )


@pytest.fixture
def quoted(
    shop: Shop, owner: Member, vehicle: Vehicle, inspection: Inspection
) -> Callable[..., Quote]:
    """Make a quote for the inspected vehicle; keywords replace what is usual."""

    def make(**changes: Any) -> Quote:
        usual = {
            "shop": shop,
            "member": owner,
            "customer": vehicle.customer,
            "vehicle": vehicle,
            "goal": {"cleared": 0.6},
            "options": Options(),
            "now": NOW,
            "inspection": inspection,
        }
        return quote_make(**{**usual, **changes})

    return make
