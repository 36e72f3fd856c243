"""Earliest fit of an eight-operation chain among 1,000, 10,000 and 100,000 future bookings.

In the core over an index that is there, against the plain scan, and with the database: one
and three offers, from the kept calendar and with all read anew. The shop is an invented
large one (twenty bays, twenty-four people, see ``large_shop.py``); the horizon grows with the
bookings. The database is one of its own that is dropped after.
"""

from __future__ import annotations

import time
from collections.abc import Callable, Sequence
from datetime import UTC, datetime, timedelta
from random import Random

from django.db import connection

from scheduling.core.earliest import earliest_fit
from scheduling.core.fit import Chain
from scheduling.services.calendar_kept import calendar_forget
from scheduling.services.offers import offers_find
from shop.models import Shop
from tests.bench import large_shop
from tests.bench.large_rows import fill, operations_of, shop_made
from tests.bench.plain_scan import plain_scan
from tests.bench.report import Report

SIZES = (1_000, 10_000, 100_000)
QUESTIONS, SCANS, COLD = 200, 5, 10
CORE_P95_MS, ANSWER_P95_MS, GROWTH = 10.0, 50.0, 4.0
SCAN_TIMES = 100.0
NOW = datetime(2026, 3, 2, 5, 0, tzinfo=UTC)
Asked = tuple[Chain, int]


def run(report: Report) -> None:
    """Fill the calendars, then ask."""
    parts = large_shop.stretches()
    medians = {size: _core(report, parts, size) for size in SIZES}
    growth = medians[SIZES[-1]], medians[SIZES[0]]
    report.ratio("growth from 1,000 to 100,000 bookings", growth[0], growth[1], target=GROWTH)
    name = connection.settings_dict["NAME"]
    for size in (SIZES[0], SIZES[-1]):
        connection.creation.create_test_db(verbosity=0, autoclobber=True)
        try:
            shop = shop_made(NOW)
            fill(shop, large_shop.laid(parts, size), NOW)
            _database(report, shop, size)
        finally:
            connection.creation.destroy_test_db(name, verbosity=0)


def _questions(size: int, count: int, weeks_ahead: int | None = None) -> list[Asked]:
    rng = Random(3)  # noqa: S311 -- which day is asked about
    weeks = size // large_shop.STRETCH_BOOKINGS * large_shop.STRETCH_WEEKS - 2
    until = min(weeks, weeks_ahead or weeks) * large_shop.WEEK
    return [(large_shop.chain(rng), 5 * rng.randrange(until // 5)) for _ in range(count)]


def _core(report: Report, parts: list[list[large_shop.Taken]], size: int) -> list[float]:
    shop = large_shop.large_shop(parts, size)
    index = shop.index()
    asked = _questions(size, QUESTIONS)

    def ask(one: Asked) -> object:
        fit = earliest_fit(one[0], index, not_before=one[1])
        if not fit.found:
            raise RuntimeError(f"no place from minute {one[1]} on")
        return fit

    seconds = _timed(ask, asked)
    _lines(report, f"earliest fit in the core, {size:,} bookings", seconds, CORE_P95_MS)
    if size == SIZES[-1]:
        scanned = asked[:SCANS]
        scans = _timed(lambda one: plain_scan(one[0], shop.resources, shop.busy, one[1]), scanned)
        report.timing("  the plain scan", scans)
        # Printed the other way round: a figure is better the smaller it is.
        share = sum(_timed(ask, scanned)) / sum(scans) * SCAN_TIMES
        detail = f"the scan takes {SCAN_TIMES / share:,.0f} times as long"
        report.figure("  a hundred fits against one scan", share, "scans", detail, target=1.0)
    return seconds


def _database(report: Report, shop: Shop, size: int) -> None:
    for count in (1, 3):
        # Callers ask about the next three months.
        asked = _questions(size, QUESTIONS // 2, weeks_ahead=13)

        def ask(one: Asked, count: int = count) -> object:
            offers = offers_find(
                shop=shop,
                operations=operations_of(one[0]),
                earliest=NOW + timedelta(minutes=one[1]),
                now=NOW,
                count=count,
            )
            if len(offers.found) < count:
                raise RuntimeError(f"only {len(offers.found)} offers: {offers.reasons}")
            return offers

        def ask_anew(one: Asked, ask: Callable[[Asked], object] = ask) -> object:
            calendar_forget(shop)
            return ask(one)

        offers = "one offer" if count == 1 else "three offers"
        title = f"{offers} with the database, {size:,} bookings"
        for one in asked:
            ask(one)
        _lines(report, title, _timed(ask, asked), ANSWER_P95_MS)
        report.timing("  calendar read anew", _timed(ask_anew, asked[:COLD]))


def _timed(ask: Callable[[Asked], object], asked: Sequence[Asked]) -> list[float]:
    seconds = []
    for one in asked:
        began = time.perf_counter()
        ask(one)
        seconds.append(time.perf_counter() - began)
    return seconds


def _lines(report: Report, title: str, seconds: list[float], p95_target_ms: float) -> None:
    ordered = sorted(seconds)
    report.timing(title, ordered)
    p95 = ordered[int(0.95 * len(ordered))] * 1000
    report.figure("  its 95th percentile", p95, "ms", "", target=p95_target_ms)
