"""From a parsed file to an inspection; refuses with every path that is wrong."""

from __future__ import annotations

from decimal import Decimal
from typing import Any

from estimating.core import words
from estimating.core.errors import InputRefused, Problem
from estimating.core.fieldreader import Fields
from estimating.core.inspection import (
    Calibration,
    GivenGauge,
    GivenPolicy,
    Goal,
    Inspection,
    Vehicle,
)
from estimating.core.panelreader import read_film, read_panels
from estimating.core.units import UNITS, to_um

_KEYS = ("format", "unit", "vehicle", "gauge", "policy", "panels", "goal")
_VEHICLE_KEYS = (
    "body", "age_months", "paint", "storage", "wash_habit", "colour", "previous_correction",
)  # fmt: skip
_GOALS = ("cleared", "price_cap", "safest_best")
_MOST_AGE_MONTHS = 1_800
_MOST_PRICE = 10_000_000
_MOST_GAUGE_UM = 100.0
_MOST_FLOOR_UM = 500.0
_LEAST_FLOOR_UM = 1.0
_LEAST_RISK = 1e-9
_MOST_DAYS = 36_500
_MOST_SHIMS = 50
_GAUGE_KEYS = ("repeatability_um", "accuracy_um", "accuracy_share", "calibration")
_LONGEST_ANSWER = 60


def inspection_from(value: Any, format_name: str) -> Inspection:
    """Build an inspection from a parsed object.

    Raises
    ------
    InputRefused
        With all problems found.
    """
    problems: list[Problem] = []
    top = Fields(value, "$", _KEYS, problems)
    if problems and not isinstance(value, dict):
        raise InputRefused(problems)
    top.word("format", (format_name,))
    unit = top.word("unit", UNITS)
    vehicle = _vehicle(top)
    goal = _goal(top)
    length = unit or UNITS[1]
    gauge = _gauge(top)
    policy = _policy(top, length)
    calibration = _calibration(top, length)
    panels = read_panels(top, length)
    if problems or vehicle is None or goal is None or unit is None:
        raise InputRefused(problems)
    return Inspection(
        unit=unit,
        vehicle=vehicle,
        goal=goal,
        panels=panels,
        gauge=gauge,
        policy=policy,
        calibration=calibration,
    )


def _vehicle(top: Fields) -> Vehicle | None:
    if not top.need("vehicle", f"give an object with {', '.join(_VEHICLE_KEYS)}"):
        return None
    fields = Fields(top.raw("vehicle"), "$.vehicle", _VEHICLE_KEYS, top.problems)
    body = fields.word("body", words.BODIES)
    age = fields.whole(
        "age_months", 0, _MOST_AGE_MONTHS, f"use whole months from 0 to {_MOST_AGE_MONTHS}"
    )
    hardness: str | None = "medium"
    if fields.has("paint"):
        paint = Fields(fields.raw("paint"), "$.vehicle.paint", ("hardness",), top.problems)
        hardness = paint.word("hardness", words.HARDNESSES, "medium")
    answers = {key: _answer(fields, key) for key in _VEHICLE_KEYS[3:]}
    if body is None or age is None or hardness is None:
        return None
    return Vehicle(body=body, age_months=age, hardness=hardness, **answers)


def _answer(fields: Fields, key: str) -> str | None:
    """An answer of the caller; whether the catalogue knows it is checked later."""
    if not fields.has(key) or fields.raw(key) is None:
        return None
    value = fields.raw(key)
    if not isinstance(value, str) or not 0 < len(value) <= _LONGEST_ANSWER:
        fields.refuse(fields.at(key), value, "use an answer of the catalogue, or leave it out")
        return None
    return value


def _goal(top: Fields) -> Goal | None:
    remedy = f"give an object with exactly one of {', '.join(_GOALS)}"
    if not top.need("goal", remedy):
        return None
    value = top.raw("goal")
    fields = Fields(value, "$.goal", _GOALS, top.problems)
    if not isinstance(value, dict):
        return None
    given = [key for key in _GOALS if fields.has(key)]
    if len(given) != 1:
        top.refuse("$.goal", value, remedy)
        return None
    return _GOAL_READERS[given[0]](fields)


def _cleared(fields: Fields) -> Goal | None:
    cleared = fields.number("cleared", 0.0, 1.0, "use a share from 0 to 1")
    return None if cleared is None else Goal(cleared=cleared)


def _price_cap(fields: Fields) -> Goal | None:
    cap = fields.number("price_cap", 0.0, _MOST_PRICE, "use an amount of at least 0")
    return None if cap is None else Goal(price_cap=Decimal(repr(fields.raw("price_cap"))))


def _safest_best(fields: Fields) -> Goal | None:
    if fields.raw("safest_best") is not True:
        fields.refuse(fields.at("safest_best"), fields.raw("safest_best"), "use true")
        return None
    return Goal(safest_best=True)


_GOAL_READERS = {"cleared": _cleared, "price_cap": _price_cap, "safest_best": _safest_best}


_GAUGE_REMEDY = f"use a number from 0 to {_MOST_GAUGE_UM:g} micrometres"


def _gauge(top: Fields) -> GivenGauge:
    if not top.has("gauge"):
        return GivenGauge()
    fields = Fields(top.raw("gauge"), "$.gauge", _GAUGE_KEYS, top.problems)
    share_remedy = "use a share from 0 to 0.5"
    return GivenGauge(
        fields.number_if("repeatability_um", 0.0, _MOST_GAUGE_UM, _GAUGE_REMEDY),
        fields.number_if("accuracy_um", 0.0, _MOST_GAUGE_UM, _GAUGE_REMEDY),
        fields.number_if("accuracy_share", 0.0, 0.5, share_remedy),
    )


def _calibration(top: Fields, unit: str) -> Calibration | None:
    """The gauge's calibration: days since, and shims as pairs of true and read."""
    value = top.raw("gauge")
    if not isinstance(value, dict) or "calibration" not in value:
        return None
    path = "$.gauge.calibration"
    fields = Fields(value["calibration"], path, ("days_ago", "shims"), top.problems)
    remedy = f"use whole days from 0 to {_MOST_DAYS}"
    days = fields.whole("days_ago", 0, _MOST_DAYS, remedy)
    shims = []
    pair = "use a pair of true and read thickness"
    values = (
        fields.items("shims", _MOST_SHIMS, f"give a list: {pair}") if fields.has("shims") else []
    )
    for index, shim in enumerate(values):
        if not isinstance(shim, list) or len(shim) != 2:
            fields.refuse(f"{path}.shims[{index}]", shim, pair)
            continue
        read = [read_film(v, f"{path}.shims[{index}][{i}]", unit, top.problems)
                for i, v in enumerate(shim)]  # fmt: skip
        if read[0] is not None and read[1] is not None:
            shims.append((read[0], read[1]))
    return None if days is None else Calibration(days, tuple(shims))


def _policy(top: Fields, unit: str) -> GivenPolicy:
    if not top.has("policy"):
        return GivenPolicy()
    keys = ("floor", "reserve", "max_risk")
    fields = Fields(top.raw("policy"), "$.policy", keys, top.problems)
    most = _MOST_FLOOR_UM / to_um(1.0, unit)
    least = _LEAST_FLOOR_UM / to_um(1.0, unit)
    floor = fields.number_if("floor", least, most, f"use a film from {least:g} to {most:g} {unit}")
    reserve = fields.number_if("reserve", 0.0, most, f"use a film from 0 to {most:g} {unit}")
    risk = fields.number_if("max_risk", _LEAST_RISK, 0.5, "use a chance above 0, at most 0.5")
    return GivenPolicy(
        None if floor is None else to_um(floor, unit),
        None if reserve is None else to_um(reserve, unit),
        risk,
    )
