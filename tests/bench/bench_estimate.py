"""One estimate inside a process: the core alone, and with a shop's rows from a database.

The database is one for tests, made for this and dropped; nobody's data is touched.
"""

from __future__ import annotations

from typing import Any

from django.db import connection
from django.test.utils import setup_databases, teardown_databases

from estimating.selectors import catalogue_for
from estimating.services.estimates import estimate_make, estimate_without_shop
from tests.bench.report import Report
from tests.factories import TODAY, document, fender, stocked_shop

TARGET_MS = 50.0
PANELS = (
    "hood", "roof", "tailgate", "front_left_fender", "front_left_door", "front_right_fender",
    "front_right_door", "rear_left_door", "rear_right_door", "left_rocker", "right_rocker",
    "left_bedside", "right_bedside", "left_pillar", "right_pillar", "rear_left_fender",
)  # fmt: skip


def vehicle() -> dict[str, Any]:
    """Sixteen panels of a pickup, with swirl marks and a scratch on each."""
    defects = [
        {"kind": "swirl_marks", "severity": "moderate", "extent": 0.6},
        {"kind": "deep_scratch", "count": 1, "local_reading": 3.8},
    ]
    panels = [
        fender(panel=name, spots=[[4.3 + step / 40] * 3, [4.4] * 3], defects=defects)
        for step, name in enumerate(PANELS)
    ]
    return document(panels=panels)


def run(report: Report) -> None:
    """Time both, and the reading of the catalogue by itself."""
    whole, phone = vehicle(), document(panels=[])
    report.measure(
        "estimate, 16 panels, core alone",
        lambda: estimate_without_shop(document=whole),
        target_ms=TARGET_MS,
    )
    report.measure(
        "estimate by phone, core alone",
        lambda: estimate_without_shop(document=phone),
        target_ms=TARGET_MS,
    )
    with_database(report, whole)


def with_database(report: Report, whole: dict[str, Any]) -> None:
    """The same with rates and tables read from a database each time."""
    made = setup_databases(verbosity=0, interactive=False)
    try:
        shop = stocked_shop()
        report.measure("catalogue of a shop from rows", lambda: catalogue_for(shop, TODAY))
        report.measure(
            f"estimate, 16 panels, rows from {connection.vendor}",
            lambda: estimate_make(shop=shop, document=whole, day=TODAY),
            target_ms=TARGET_MS,
        )
    finally:
        teardown_databases(made, verbosity=0)
