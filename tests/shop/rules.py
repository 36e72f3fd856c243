"""Every rule of the tables: a row that keeps it, and one that breaks it."""

from datetime import date, time, timedelta
from typing import Any

from factory.declarations import Sequence, SubFactory
from factory.django import DjangoModelFactory

from estimating.models import CustomerPage
from scheduling.models import CalendarPolicy, CallDraft
from scheduling.models.feeds import CalendarFeed, FeedEntry, FeedKind
from shop import models as shop
from tests import factories as make
from tests.factories import NOW

DAY = date(2026, 3, 2)
LATER = NOW + timedelta(hours=1)
SOONER = NOW - timedelta(hours=1)


class PolicyFactory(make.OfShop):
    class Meta:
        model = CalendarPolicy


class PaymentFactory(DjangoModelFactory):
    class Meta:
        model = shop.Payment

    job = SubFactory(make.JobFactory)
    member = SubFactory(make.MemberFactory)
    amount = 10
    method = "cash"
    at = NOW


class FeedFactory(make.OfShop):
    class Meta:
        model = CalendarFeed

    kind = FeedKind.BAY
    resource = SubFactory(make.BayFactory)
    made_at = NOW


class FeedEntryFactory(DjangoModelFactory):
    class Meta:
        model = FeedEntry

    feed = SubFactory(FeedFactory)
    key = Sequence(lambda n: f"stay-{n}")
    start = NOW
    end = LATER
    changed_at = NOW


class CallFactory(make.OfShop):
    class Meta:
        model = CallDraft

    member = SubFactory(make.MemberFactory)
    started_at = NOW
    updated_at = NOW


class BookedCallFactory(CallFactory):
    job = SubFactory(make.JobFactory)


# Name of the rule, factory, what keeps it, what breaks it.
RULES: list[tuple[str, Any, dict[str, Any], dict[str, Any]]] = [
    ("shop_margins_in_order", make.ShopFactory, {}, {"floor_margin": "0.5"}),
    ("shop_floor_um_positive", make.ShopFactory, {}, {"floor_um": 0}),
    ("shop_reserve_um_not_neg", make.ShopFactory, {"reserve_um": 0}, {"reserve_um": -1}),
    ("shop_risk_is_share", make.ShopFactory, {"max_risk": 1}, {"max_risk": "1.1"}),
    ("opening_weekday_0_to_6", make.OpeningHoursFactory, {"weekday": 6}, {"weekday": 7}),
    ("opening_closes_after_it_opens", make.OpeningHoursFactory, {}, {"closes": time(8)}),
    (
        "closure_days_in_order",
        make.ClosureFactory,
        {"last_day": DAY + timedelta(8)},
        {"last_day": DAY},
    ),
    ("customer_can_be_reached", make.CustomerFactory, {"email": ""}, {"email": "", "phone": ""}),
    ("job_state_is_known", make.JobFactory, {}, {"state": "lost"}),
    ("job_booked_has_times", make.JobFactory, {"booked": True}, {"state": "booked"}),
    (
        "job_ready_after_it_arrives",
        make.JobFactory,
        {"booked": True},
        {"arrives_at": NOW, "ready_at": NOW},
    ),
    ("job_price_not_negative", make.JobFactory, {"price": 0}, {"price": -1}),
    ("operation_minutes_in_order", make.OperationFactory, {}, {"minutes_p90": 1.0}),
    (
        "operation_lags_in_order",
        make.OperationFactory,
        {"lag_max_minutes": 0},
        {"lag_min_minutes": 9, "lag_max_minutes": 8},
    ),
    ("operation_crew_fits_attendance", make.OperationFactory, {}, {"crew_count": 0}),
    (
        "operation_plan_runs_forward",
        make.OperationFactory,
        {"planned_start": NOW, "planned_end": LATER},
        {"planned_start": NOW, "planned_end": NOW},
    ),
    (
        "operation_ends_after_start",
        make.OperationFactory,
        {"started_at": NOW, "finished_at": NOW},
        {"started_at": NOW, "finished_at": SOONER},
    ),
    ("work_ends_after_start", make.WorkEntryFactory, {"ended_at": NOW}, {"ended_at": SOONER}),
    ("planned_material_positive", make.PlannedMaterialFactory, {}, {"quantity": 0}),
    ("material_use_positive", make.MaterialUseFactory, {}, {"quantity": 0}),
    ("consumable_cost_not_negative", make.ConsumableFactory, {"unit_cost": 0}, {"unit_cost": -1}),
    ("gauge_errors_not_negative", make.GaugeFactory, {"accuracy_um": 0}, {"accuracy_um": -1}),
    ("defect_has_extent_or_count", make.DefectFactory, {}, {"count": 1}),
    ("defect_extent_is_share", make.DefectFactory, {"extent": 1}, {"extent": 1.1}),
    (
        "defect_count_positive",
        make.DefectFactory,
        {"extent": None, "count": 1},
        {"extent": None, "count": 0},
    ),
    (
        "defect_local_reading_not_negative",
        make.DefectFactory,
        {"local_reading": 0},
        {"local_reading": -1},
    ),
    ("photo_bounded", make.PhotoFactory, {"width": 2048}, {"width": 2049}),
    ("quote_prices_in_order", make.QuoteFactory, {}, {"price_p90": 1}),
    ("quote_valid_after_made", make.QuoteFactory, {}, {"valid_until": NOW}),
    ("quote_accepted_has_job", make.QuoteFactory, {}, {"state": "accepted"}),
    ("resource_technician_is_a_member", make.BayFactory, {}, {"kind": "technician"}),
    ("shift_runs_forward", make.ShiftFactory, {}, {"ends": time(8)}),
    ("shift_weekday_0_to_6", make.ShiftFactory, {"weekday": 6}, {"weekday": 7}),
    (
        "shift_weeks_have_a_first_day",
        make.ShiftFactory,
        {"every_weeks": 2, "valid_from": DAY},
        {"every_weeks": 2},
    ),
    (
        "shift_days_in_order",
        make.ShiftFactory,
        {"valid_from": DAY, "valid_to": DAY},
        {"valid_from": DAY, "valid_to": DAY - timedelta(1)},
    ),
    (
        "shift_overtime_has_one_price",
        make.OvertimeFactory,
        {"overtime_factor": None, "overtime_extra": 0},
        {"overtime_extra": 12},
    ),
    ("job_overtime_pay_not_negative", make.JobFactory, {"overtime_pay": 9}, {"overtime_pay": -1}),
    ("absence_runs_forward", make.AbsenceFactory, {}, {"end": NOW}),
    (
        "hold_is_for_a_job_or_kept",
        make.HoldFactory,
        {"kept": make.same_shop("KeptSlotFactory"), "job": None},
        {"job": None},
    ),
    ("kept_slot_runs_forward", make.KeptSlotFactory, {}, {"kept_until": NOW}),
    ("policy_keep_minutes_is_bounded", PolicyFactory, {"keep_minutes": 1}, {"keep_minutes": 0}),
    ("hold_runs_forward", make.HoldFactory, {}, {"start": NOW, "end": NOW}),
    ("cure_hours_in_order", make.CureFactory, {"full_cure_hours": 12.0}, {"full_cure_hours": 1.0}),
    ("cure_q10_at_least_one", make.CureFactory, {"q10": 1.0}, {"q10": 0.9}),
    (
        "climate_humidity_is_percent",
        make.ClimateReadingFactory,
        {"humidity_percent": 100},
        {"humidity_percent": 101},
    ),
    ("climate_air_is_plausible", make.ClimateReadingFactory, {"air_c": 60}, {"air_c": 61}),
    ("policy_horizon_is_bounded", PolicyFactory, {"horizon_days": 7}, {"horizon_days": 6}),
    (
        "policy_lamp_panel_c_is_plausible",
        PolicyFactory,
        {"lamp_panel_c": 60.0},
        {"lamp_panel_c": 151.0},
    ),
    ("lamp_run_ends_after_start", make.LampRunFactory, {"ended_at": NOW}, {"ended_at": SOONER}),
    ("lamp_run_panel_is_plausible", make.LampRunFactory, {"panel_c": 0.0}, {"panel_c": -1.0}),
    ("plan_run_kind_is_known", make.PlanRunFactory, {"kind": "mend"}, {"kind": "guess"}),
    (
        "plan_run_state_is_known",
        make.PlanRunFactory,
        {},
        {"state": "lost", "ended_at": make.NOW},
    ),
    (
        "plan_run_ends_when_over",
        make.PlanRunFactory,
        {"state": "done", "ended_at": make.NOW},
        {"state": "done"},
    ),
    ("policy_tries_at_least_1", PolicyFactory, {"send_tries": 1}, {"send_tries": 0}),
    ("policy_bay_c_is_plausible", PolicyFactory, {"bay_c": 30.0}, {"bay_c": 99.0}),
    (
        "reminder_expires_after_due",
        make.ReminderFactory,
        {"expires_at": LATER},
        {"expires_at": NOW},
    ),
    (
        "reminder_sent_has_time",
        make.ReminderFactory,
        {"state": "sent", "sent_at": NOW},
        {"state": "sent"},
    ),
    ("reminder_has_one_reader", make.ReminderFactory, {}, {"customer": None}),
    ("call_state_is_known", CallFactory, {"state": "discarded"}, {"state": "rung"}),
    ("call_that_is_booked_is_finished", BookedCallFactory, {"state": "finished"}, {}),
    ("feed_is_of_one_thing", FeedFactory, {}, {"resource": None}),
    ("feed_entry_forward", FeedEntryFactory, {}, {"end": NOW}),
    ("payment_is_an_amount", PaymentFactory, {"amount": -5}, {"amount": 0}),
]

# Name of the rule, and how to make two rows that exclude one another.
TWICE = {
    "opening_window_once": lambda: [make.OpeningHoursFactory(shop=same()) for _ in "12"],
    "counter_once": lambda: [shop.Counter.objects.create(shop=same(), series="J") for _ in "12"],
    "member_once_in_a_shop": lambda: twice(make.MemberFactory, user=make.UserFactory()),
    "consent_one_word_each": lambda: twice(make.ConsentFactory, customer=make.CustomerFactory()),
    "vehicle_vin_once": lambda: twice(make.VehicleFactory, vin="11111111111111111"),
    "job_number_once": lambda: twice(make.JobFactory, number="J-1"),
    "operation_sequence_once": lambda: twice(
        make.OperationFactory, job=make.JobFactory(), sequence=1
    ),
    "work_one_open_entry_a_person": lambda: twice(
        make.WorkEntryFactory, member=make.TechnicianFactory(), ended_at=None
    ),
    "planned_material_once": lambda: twice(
        make.PlannedMaterialFactory, job=make.JobFactory(), consumable=make.ConsumableFactory()
    ),
    "consumable_code_once": lambda: twice(make.ConsumableFactory, code="tape"),
    "gauge_name_once": lambda: twice(make.GaugeFactory, name="Blue"),
    "panel_once": lambda: twice(make.PanelFindingFactory, inspection=make.InspectionFactory()),
    "inspection_save_once": lambda: twice(make.InspectionFactory, save_token="t"),
    "photo_once": lambda: twice(
        make.PhotoFactory, inspection=make.InspectionFactory(shop=same()), digest="d"
    ),
    "quote_version_once": lambda: twice(make.QuoteFactory, number="Q-1"),
    "resource_code_once": lambda: twice(make.BayFactory, code="b1"),
    "shift_window_once": lambda: twice(make.ShiftFactory, resource=make.CrewFactory()),
    "shift_window_once_from_a_day": lambda: twice(
        make.ShiftFactory, resource=make.CrewFactory(), valid_from=DAY
    ),
    "lamp_run_one_open_a_cure": lambda: twice(make.LampRunFactory, cure=make.CureFactory()),
    "climate_reading_once": lambda: twice(
        make.ClimateReadingFactory, resource=make.BayFactory(), at=NOW
    ),
    "feed_entry_once": lambda: twice(FeedEntryFactory, feed=FeedFactory(), key="k"),
    "plan_run_one_at_a_time": lambda: twice(make.PlanRunFactory),
    "reminder_key_once": lambda: twice(make.ReminderFactory, key="k"),
    "message_template_once": lambda: twice(make.MessageTemplateFactory),
    "customer_page_once_a_quote": lambda: [
        CustomerPage.objects.create(shop=same(), quote_number="Q-1", made_at=NOW) for _ in "12"
    ],
}


def same():
    return shop.Shop.objects.first() or make.ShopFactory()


def twice(factory, **fields):
    """Two rows of one shop; where the rows have no shop of their own, as they are."""
    if any(field.name == "shop" for field in factory._meta.model._meta.fields):
        fields["shop"] = same()
    return [factory(**fields) for _ in "12"]
