"""A small shop with a calendar, and jobs for it: what most tests here start from."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import time
from typing import Any

from scheduling.models import Resource
from shop.models import Channel, ConsentPurpose, Customer, Job, Member, Shop
from tests import factories

WEEKDAYS = range(5)


@dataclass(frozen=True)
class Small:
    """One bay of each kind, one person who can do everything, one lamp, two spots."""

    shop: Shop
    owner: Member
    desk: Member
    tech: Member
    wash: Resource
    correction: Resource
    coating: Resource
    crew: Resource
    lamp: Resource
    spots: tuple[Resource, ...]

    @property
    def resources(self) -> tuple[Resource, ...]:
        """All of them."""
        return (self.wash, self.correction, self.coating, self.crew, self.lamp, *self.spots)


def small_shop(**changes: Any) -> Small:
    """Make the shop: open 08:00 to 17:00 on weekdays, worked without a break."""
    shop = factories.ShopFactory(**changes)
    for weekday in WEEKDAYS:
        factories.OpeningHoursFactory(shop=shop, weekday=weekday, opens=time(8), closes=time(17))
    crew = factories.CrewFactory(shop=shop, skills=["wash", "polish", "coat"])
    for weekday in WEEKDAYS:
        factories.ShiftFactory(resource=crew, weekday=weekday, starts=time(8), ends=time(17))
    bays = [
        factories.BayFactory(shop=shop, name=f"{name.title()} bay", capabilities=[name])
        for name in ("wash", "correction", "coating")
    ]
    return Small(
        shop=shop,
        owner=factories.MemberFactory(shop=shop),
        desk=factories.FrontDeskFactory(shop=shop),
        tech=crew.member,
        wash=bays[0],
        correction=bays[1],
        coating=bays[2],
        crew=crew,
        lamp=factories.LampFactory(shop=shop),
        spots=tuple(factories.ParkingFactory(shop=shop) for _ in range(2)),
    )


def agrees(customer: Customer, *purposes: str, channel: str = Channel.EMAIL) -> None:
    """Let the customer agree to messages; to all purposes where none is named."""
    for purpose in purposes or (ConsentPurpose.VISIT, ConsentPurpose.AFTERCARE):
        factories.ConsentFactory(customer=customer, channel=channel, purpose=purpose)


def quoted_job(small: Small, *rows: dict[str, Any], agree: bool = True) -> Job:
    """A quoted job of the shop; a correction of two hours where no rows are given."""
    job = factories.JobFactory(shop=small.shop)
    if agree:
        agrees(job.customer)
    for sequence, row in enumerate(rows or (correction(),), start=1):
        factories.OperationFactory(job=job, sequence=sequence, **row)
    return job


def correction(minutes: int = 120, **changes: Any) -> dict[str, Any]:
    """Polishing that may pause."""
    return {"planned_minutes": minutes, **_minutes(minutes), **changes}


def wash(minutes: int = 30) -> dict[str, Any]:
    """A wash, in one go."""
    return {
        "kind": "wash",
        "name": "Prep wash",
        "attendance": "through",
        "bay_capability": "wash",
        "skill": "wash",
        **correction(minutes),
    }


def coat(minutes: int = 60, **changes: Any) -> dict[str, Any]:
    """A coat, in one go."""
    return {
        "kind": "coating",
        "name": "Coat",
        "attendance": "through",
        "bay_capability": "coating",
        "skill": "coat",
        **correction(minutes),
        **changes,
    }


def cure(minutes: int = 720) -> dict[str, Any]:
    """A cure: nobody there, the vehicle stays where it was coated."""
    return {
        "kind": "cure",
        "name": "Cure before handover",
        "attendance": "unattended",
        "bay_capability": "coating",
        "skill": "",
        "crew_count": 0,
        "lag_max_minutes": 0,
        "same_bay": True,
        "planned_minutes": minutes,
        "minutes_p10": float(minutes),
        "minutes_p50": float(minutes),
        "minutes_p90": float(minutes),
    }


def _minutes(minutes: int) -> dict[str, float]:
    return {
        "minutes_p10": minutes * 0.75,
        "minutes_p50": minutes * 0.95,
        "minutes_p90": minutes * 1.2,
    }
