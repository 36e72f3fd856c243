"""Records for tests: every factory makes a row that its constraints accept.

Rows made together belong together: a child takes its shop from the parent it is
given (``VehicleFactory(customer=customer)``), and a parent that is made on the way
takes the shop that was given (``JobFactory(shop=shop)``). All of it is invented;
phone numbers are from the range 202-555-0100 to 0199, which is kept for fiction.
"""

from __future__ import annotations

import json
from datetime import UTC, date, datetime, time, timedelta
from decimal import Decimal
from functools import cache
from pathlib import Path
from typing import Any, ClassVar

from django.conf import settings
from factory.declarations import LazyFunction, SelfAttribute, Sequence, SubFactory, Trait
from factory.django import DjangoModelFactory

from estimating import models as estimating
from estimating.core.catalogue import Catalogue
from estimating.services.catalogue import catalogue_store
from estimating.services.estimates import catalogue_read
from scheduling import models as scheduling
from shop import models as shop

NOW = datetime(2026, 3, 2, 15, 0, tzinfo=UTC)  # a Monday, 09:00 in Chicago
TODAY = date(2026, 3, 2)
PASSWORD = "a long invented password"


class ShopFactory(DjangoModelFactory):
    class Meta:
        model = shop.Shop

    name = Sequence(lambda n: f"Invented Finish {n}")
    slug = Sequence(lambda n: f"invented-{n}")
    zone = "America/Chicago"
    currency = "USD"
    phone = "+12025550100"
    email = "desk@example.org"
    tax_rate = Decimal("0.0625")
    labour_rate = Decimal("38.00")
    bay_rate = Decimal("9.00")
    overhead_rate = Decimal("0.35")
    card_fee_share = Decimal("0.029")
    target_margin = Decimal("0.45")
    floor_margin = Decimal("0.25")
    rounding_step = Decimal("5")
    max_risk = Decimal("0.05")
    plan_quantile = Decimal("0.7")
    quote_valid_days = 14


class OfShop(DjangoModelFactory):
    """Base of factories of rows that carry their shop."""

    class Meta:
        abstract = True

    shop = SubFactory(ShopFactory)

    @classmethod
    def _generate(cls, strategy: Any, params: dict[str, Any]) -> Any:
        """Take the shop from the first given row that has one."""
        if not any(name == "shop" or name.startswith("shop__") for name in params):
            for value in params.values():
                if hasattr(value, "shop_id"):
                    params["shop"] = value.shop
                    break
        return super()._generate(strategy, params)


def same_shop(made: str, **more: Any) -> SubFactory:
    """A parent of the same shop as the row that needs it."""
    return SubFactory(f"tests.factories.{made}", shop=SelfAttribute("..shop"), **more)


# --- People, customers, vehicles ----------------------------------------------


class UserFactory(DjangoModelFactory):
    class Meta:
        model = shop.User

    username = Sequence(lambda n: f"person-{n}")
    password = PASSWORD

    @classmethod
    def _create(cls, model_class: Any, *args: Any, **fields: Any) -> Any:
        return model_class.objects.create_user(*args, **fields)


class MemberFactory(OfShop):
    """An owner; the classes below make the other roles."""

    class Meta:
        model = shop.Member

    user = SubFactory(UserFactory)
    role = shop.Role.OWNER
    name = Sequence(lambda n: f"Person {n}")


class FrontDeskFactory(MemberFactory):
    role = shop.Role.FRONT_DESK


class TechnicianFactory(MemberFactory):
    role = shop.Role.TECHNICIAN


class CustomerFactory(OfShop):
    class Meta:
        model = shop.Customer

    name = Sequence(lambda n: f"Caller {n}")
    phone = Sequence(lambda n: f"+120255501{n % 100:02d}")
    email = Sequence(lambda n: f"caller{n}@example.org")


class ConsentFactory(DjangoModelFactory):
    class Meta:
        model = shop.Consent

    customer = SubFactory(CustomerFactory)
    channel = shop.Channel.EMAIL
    purpose = shop.ConsentPurpose.VISIT
    granted = True
    said_at = NOW
    source = "phone"


class VehicleFactory(OfShop):
    class Meta:
        model = shop.Vehicle

    customer = same_shop("CustomerFactory")
    description = "pickup, crew cab, dark blue"
    body = shop.Body.PICKUP
    colour = "dark blue"
    tone = shop.Tone.DARK
    first_used_on = date(2025, 10, 20)  # four whole months before TODAY


class _Visit(OfShop):
    """Base of rows about one customer and one vehicle, which fit each other."""

    class Meta:
        abstract = True

    vehicle = same_shop("VehicleFactory")
    customer = SelfAttribute("vehicle.customer")

    @classmethod
    def _generate(cls, strategy: Any, params: dict[str, Any]) -> Any:
        if "customer" in params and "vehicle" not in params:
            params["vehicle__customer"] = params["customer"]
        return super()._generate(strategy, params)


# --- Jobs -----------------------------------------------------------------------


class JobFactory(_Visit):
    """A quoted job; ``booked=True`` gives it times and the state that goes with them."""

    class Meta:
        model = shop.Job

    class Params:
        booked = Trait(
            state=shop.JobState.BOOKED,
            arrives_at=NOW + timedelta(days=1),
            ready_at=NOW + timedelta(days=2),
            promised_at=NOW + timedelta(days=2, hours=2),
            promise_probability=Decimal("0.9"),
        )

    number = Sequence(lambda n: f"J-{n + 1:04d}")
    state = shop.JobState.QUOTED
    title = "Single-stage correction"
    currency = "USD"
    price = Decimal("640.00")
    estimated_labour = Decimal("190.00")
    estimated_bay = Decimal("45.00")
    estimated_materials = Decimal("38.50")
    estimated_overhead = Decimal("66.50")
    labour_rate = Decimal("38.00")
    bay_rate = Decimal("9.00")
    overhead_rate = Decimal("0.35")


class OperationFactory(DjangoModelFactory):
    class Meta:
        model = shop.Operation

    job = SubFactory(JobFactory)
    sequence = Sequence(lambda n: n % 30000 + 1)
    kind = shop.OperationKind.CORRECTION
    name = "Machine correction"
    attendance = shop.Attendance.PAUSABLE
    bay_capability = "correction"
    skill = "polish"
    crew_count = 1
    minutes_p10 = 150.0
    minutes_p50 = 200.0
    minutes_p90 = 266.0
    planned_minutes = 225


class JobEventFactory(DjangoModelFactory):
    class Meta:
        model = shop.JobEvent

    job = SubFactory(JobFactory)
    kind = "note"
    at = NOW


class WorkEntryFactory(DjangoModelFactory):
    class Meta:
        model = shop.WorkEntry

    operation = SubFactory(OperationFactory)
    member = SubFactory(TechnicianFactory, shop=SelfAttribute("..operation.job.shop"))
    started_at = NOW
    ended_at = NOW + timedelta(hours=1)


class ConsumableFactory(OfShop):
    class Meta:
        model = shop.Consumable

    code = Sequence(lambda n: f"item-{n}")
    name = Sequence(lambda n: f"Invented polish {n}")
    unit = "ml"
    unit_cost = Decimal("0.046")
    purchase_size = 1000.0
    on_hand = Decimal("2100")
    reorder_point = 1500.0
    lot_size = 2000.0
    lead_days = 4


class PlannedMaterialFactory(DjangoModelFactory):
    class Meta:
        model = shop.PlannedMaterial

    job = SubFactory(JobFactory)
    consumable = SubFactory(ConsumableFactory, shop=SelfAttribute("..job.shop"))
    quantity = Decimal("100")
    unit = "ml"
    cost = Decimal("4.60")


class MaterialUseFactory(DjangoModelFactory):
    class Meta:
        model = shop.MaterialUse

    job = SubFactory(JobFactory)
    consumable = SubFactory(ConsumableFactory, shop=SelfAttribute("..job.shop"))
    member = SubFactory(TechnicianFactory, shop=SelfAttribute("..job.shop"))
    quantity = Decimal("90")
    unit_cost = Decimal("0.046")
    at = NOW


class OpeningHoursFactory(OfShop):
    class Meta:
        model = shop.OpeningHours

    weekday = 0
    opens = time(8, 0)
    closes = time(18, 0)


class ClosureFactory(OfShop):
    class Meta:
        model = shop.Closure

    first_day = TODAY + timedelta(days=7)
    last_day = TODAY + timedelta(days=7)
    reason = "Stocktaking"


# --- Findings and quotes --------------------------------------------------------


class GaugeFactory(OfShop):
    class Meta:
        model = estimating.Gauge

    name = Sequence(lambda n: f"Gauge {n}")
    repeatability_um = 1.0
    accuracy_um = 1.0
    accuracy_share = 0.01


class InspectionFactory(OfShop):
    """An inspection without panels; add them with ``PanelFindingFactory``."""

    class Meta:
        model = estimating.Inspection

    vehicle = same_shop("VehicleFactory")
    member = same_shop("TechnicianFactory")
    unit = shop.FilmUnit.MIL
    taken_at = NOW


class PhotoFactory(OfShop):
    """A photograph; its bytes are no picture."""

    class Meta:
        model = estimating.Photo

    inspection = same_shop("InspectionFactory")
    member = same_shop("TechnicianFactory")
    taken_at = NOW
    digest = Sequence(lambda n: f"{n:064x}")
    width = 2
    height = 1
    image = b"\xff\xd8large"
    small = b"\xff\xd8small"


class PanelFindingFactory(DjangoModelFactory):
    class Meta:
        model = estimating.PanelFinding

    inspection = SubFactory(InspectionFactory)
    panel = "front_left_fender"
    sequence = Sequence(lambda n: n % 30000)
    spots: ClassVar = [[4.3, 4.2, 4.3], [4.4, 4.4, 4.5]]


class DefectFactory(DjangoModelFactory):
    class Meta:
        model = estimating.Defect

    finding = SubFactory(PanelFindingFactory)
    kind = "swirl_marks"
    severity = "light"
    extent = 0.6


def operation_row(sequence: int = 1, **changes: Any) -> dict[str, Any]:
    """One operation as a quote keeps it: the fields of ``shop.Operation``."""
    return {
        "sequence": sequence,
        "kind": "correction",
        "name": "Machine correction",
        "attendance": "pausable",
        "bay_capability": "correction",
        "skill": "polish",
        "crew_count": 1,
        "lamps": 0,
        "minutes_p10": 150.0,
        "minutes_p50": 200.0,
        "minutes_p90": 266.0,
        "planned_minutes": 225,
        "lag_min_minutes": 0,
        "lag_max_minutes": None,
        "same_bay": False,
        **changes,
    }


def quote_parameters() -> dict[str, Any]:
    """The rates and costs of a quote that its job takes over."""
    return {
        "terms": {"labour_rate": "38.00", "bay_rate": "9.00", "overhead_rate": "0.35"},
        "offer": {
            "cost": {
                "labour": "190.00",
                "bay": "45.00",
                "materials": "38.50",
                "overhead": "85.06",
                "card_fee": "18.56",
            }
        },
    }


class QuoteFactory(_Visit):
    """An open quote with one operation; real ones come from ``quote_make``."""

    class Meta:
        model = estimating.Quote

    number = Sequence(lambda n: f"Q-{n + 1:04d}")
    title = "Single-stage correction"
    member = same_shop("FrontDeskFactory")
    created_at = NOW
    valid_until = NOW + timedelta(days=14)
    currency = "USD"
    price = Decimal("640.00")
    price_p10 = Decimal("560.00")
    price_p50 = Decimal("640.00")
    price_p90 = Decimal("750.00")
    tax = Decimal("40.00")
    margin = Decimal("0.45")
    hours_p10 = 3.5
    hours_p50 = 4.2
    hours_p90 = 5.3
    cleared = 0.64
    request = LazyFunction(dict)
    parameters = LazyFunction(quote_parameters)
    estimate = LazyFunction(dict)
    operations = LazyFunction(lambda: [operation_row()])
    materials = LazyFunction(list)


# --- The calendar ---------------------------------------------------------------


class BayFactory(OfShop):
    class Meta:
        model = scheduling.Resource

    kind = scheduling.ResourceKind.BAY
    code = Sequence(lambda n: f"bay-{n}")
    name = Sequence(lambda n: f"Bay {n}")
    capabilities = LazyFunction(lambda: ["correction"])


class CrewFactory(OfShop):
    """A technician as a resource, with the member that goes with it."""

    class Meta:
        model = scheduling.Resource

    kind = scheduling.ResourceKind.TECHNICIAN
    code = Sequence(lambda n: f"crew-{n}")
    member = same_shop("TechnicianFactory")
    name = SelfAttribute("member.name")
    skills = LazyFunction(lambda: ["polish"])


class LampFactory(OfShop):
    class Meta:
        model = scheduling.Resource

    kind = scheduling.ResourceKind.LAMP
    code = Sequence(lambda n: f"lamp-{n}")
    name = Sequence(lambda n: f"Lamp {n}")


class ParkingFactory(OfShop):
    class Meta:
        model = scheduling.Resource

    kind = scheduling.ResourceKind.PARKING
    code = Sequence(lambda n: f"spot-{n}")
    name = Sequence(lambda n: f"Spot {n}")


class ShiftFactory(DjangoModelFactory):
    class Meta:
        model = scheduling.Shift

    resource = SubFactory(CrewFactory)
    weekday = 0
    starts = time(8, 0)
    ends = time(17, 0)


class OvertimeFactory(ShiftFactory):
    """An evening's overtime: a shift with a price."""

    starts = time(17, 0)
    ends = time(20, 0)
    overtime_factor = Decimal("1.5")


class AbsenceFactory(DjangoModelFactory):
    class Meta:
        model = scheduling.Absence

    resource = SubFactory(CrewFactory)
    start = NOW
    end = NOW + timedelta(hours=4)


class HoldFactory(OfShop):
    class Meta:
        model = scheduling.Hold

    resource = same_shop("BayFactory")
    job = same_shop("JobFactory", booked=True)
    start = NOW + timedelta(days=1)
    end = NOW + timedelta(days=1, hours=4)


class KeptSlotFactory(OfShop):
    """A slot kept for ten minutes, without holds; real ones come from ``slot_keep``."""

    class Meta:
        model = scheduling.KeptSlot

    member = same_shop("FrontDeskFactory")
    arrives_at = NOW + timedelta(days=1)
    kept_at = NOW
    kept_until = NOW + timedelta(minutes=10)
    offer = LazyFunction(dict)
    work = LazyFunction(list)


class CureFactory(DjangoModelFactory):
    class Meta:
        model = scheduling.Cure

    job = SubFactory(JobFactory, booked=True)
    operation = SubFactory(
        OperationFactory,
        job=SelfAttribute("..job"),
        kind=shop.OperationKind.CURE,
        attendance=shop.Attendance.UNATTENDED,
        crew_count=0,
        skill="",
    )
    system_name = "Lantern Two-Coat"
    started_at = NOW
    reference_c = 20.0
    q10 = 2.0
    handover_hours = 12.0
    full_cure_hours = 168.0
    wash_after_hours = 120.0
    forecast_handover_at = NOW + timedelta(hours=12)
    forecast_full_at = NOW + timedelta(hours=168)


class LampRunFactory(DjangoModelFactory):
    class Meta:
        model = scheduling.LampRun

    cure = SubFactory(CureFactory)
    member = SubFactory(TechnicianFactory)
    started_at = NOW
    panel_c = 50.0


class ClimateReadingFactory(OfShop):
    class Meta:
        model = scheduling.ClimateReading

    resource = same_shop("BayFactory")
    at = Sequence(lambda n: NOW + timedelta(minutes=n))
    air_c = 20.0
    humidity_percent = 50.0


class ReminderFactory(OfShop):
    class Meta:
        model = scheduling.Reminder

    job = same_shop("JobFactory", booked=True)
    customer = SelfAttribute("job.customer")
    purpose = scheduling.ReminderPurpose.DAY_BEFORE
    channel = shop.Channel.EMAIL
    key = Sequence(lambda n: f"reminder-{n}")
    due_at = NOW
    why = "Booked"


class PlanRunFactory(OfShop):
    class Meta:
        model = scheduling.PlanRun

    kind = scheduling.PlanRunKind.IMPROVE
    member = same_shop("MemberFactory")
    asked_at = NOW
    as_of = NOW
    heard_at = NOW
    most_seconds = 20


class MessageTemplateFactory(OfShop):
    class Meta:
        model = scheduling.MessageTemplate

    purpose = scheduling.ReminderPurpose.DAY_BEFORE
    channel = shop.Channel.EMAIL
    subject = "Tomorrow"
    text = "We expect your {vehicle} tomorrow."


# --- Documents ------------------------------------------------------------------


def fender(**changes: Any) -> dict[str, Any]:
    """One panel of a document: a factory-painted fender with light swirl marks."""
    return {
        "panel": "front_left_fender",
        "substrate": "steel",
        "spots": [[4.3, 4.2, 4.3], [4.4, 4.4, 4.5]],
        "defects": [{"kind": "swirl_marks", "severity": "light", "extent": 0.6}],
        **changes,
    }


def document(**changes: Any) -> dict[str, Any]:
    """A whole ``halfmil-inspection/1`` document of one panel."""
    return {
        "format": "halfmil-inspection/1",
        "unit": "mil",
        "vehicle": {"body": "pickup", "age_months": 4},
        "panels": [fender()],
        "goal": {"cleared": 0.6},
        **changes,
    }


@cache
def catalogue_text() -> str:
    """The text of the demo shop's catalogue."""
    return (Path(settings.BASE_DIR) / "fixtures" / "catalogue.json").read_text("utf-8")


def catalogue_data() -> dict[str, Any]:
    """The demo shop's catalogue, parsed anew, so that a test may change it."""
    parsed: dict[str, Any] = json.loads(catalogue_text())
    return parsed


def stocked_shop(**fields: Any) -> shop.Shop:
    """A shop with the demo catalogue, which holds since the beginning of 2026."""
    made: shop.Shop = ShopFactory(**fields)
    catalogue_store(shop=made, catalogue=_catalogue(), day=date(2026, 1, 1))
    return made


@cache
def _catalogue() -> Catalogue:
    return catalogue_read(catalogue_text())


# --- Catalogue rows that calendar tests look up by code ---------------------------


class CoatingSystemFactory(OfShop):
    """A coating system with invented figures."""

    class Meta:
        model = shop.CoatingSystem

    code = Sequence(lambda n: f"system-{n}")
    name = "Invented coat"
    effective_from = date(2026, 1, 1)
    reference_c = 20.0
    q10 = 2.0
    handover_hours = 12.0
    first_wash_hours = 168.0
    full_cure_hours = 336.0
    least_c = 10.0
    most_c = 30.0
    most_humidity = 0.8
    dew_margin_c = 3.0
