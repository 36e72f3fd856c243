"""Reading the panels of an inspection: spots of readings, and defects."""

from __future__ import annotations

from typing import Any

from estimating.core import words
from estimating.core.errors import Problem
from estimating.core.fieldreader import Fields, checked_number
from estimating.core.inspection import (
    LEAST_READINGS,
    MOST_READING_UM,
    Defect,
    EarlierFilm,
    PanelFinding,
    Spots,
    Trial,
)
from estimating.core.units import film_text, to_um

_MOST_SPOTS = 200
_MOST_READINGS = 60
_MOST_DEFECTS = 60
_MOST_COUNT = 500
_PANEL_KEYS = ("panel", "substrate", "spots", "defects", "covered", "test_spot", "earlier")
_TRIAL_KEYS = ("level", "before", "after", "cleared")
_MOST_EARLIER = 50
_MOST_MONTHS = 1_800
_DEFECT_KEYS = ("kind", "severity", "extent", "count", "local_reading")


def read_panels(top: Fields, unit: str) -> tuple[PanelFinding, ...]:
    """Read all panels; one given twice is a problem of the second."""
    remedy = "give a list of panels, empty where nothing has been inspected"
    panels: list[PanelFinding] = []
    seen: dict[str, int] = {}
    for index, value in enumerate(top.items("panels", 4 * len(words.PANELS), remedy)):
        path = f"$.panels[{index}]"
        fields = Fields(value, path, _PANEL_KEYS, top.problems)
        name = fields.word("panel", words.PANELS)
        if name in seen:
            fields.refuse(fields.at("panel"), name, f"give it once; it is panel {seen[name]} too")
        if name is not None:
            seen.setdefault(name, index)
        finding = _panel(fields, name, unit)
        if finding is not None:
            panels.append(finding)
    return tuple(panels)


def _panel(fields: Fields, name: str | None, unit: str) -> PanelFinding | None:
    before = len(fields.problems)
    substrate = fields.word("substrate", words.SUBSTRATES)
    spots = _spots(fields, "spots", unit)
    if substrate is not None and substrate != "composite" and fields.raw("spots") == []:
        fields.refuse(
            fields.at("spots"), [], "take at least one spot of three readings on a metal panel"
        )
    defects = []
    values: list[Any] = []
    if fields.has("defects"):
        values = fields.items("defects", _MOST_DEFECTS, "give a list of defects, or leave it out")
    for index, value in enumerate(values):
        path = f"{fields.path}.defects[{index}]"
        defect = _defect(Fields(value, path, _DEFECT_KEYS, fields.problems), spots, unit)
        if defect is not None:
            defects.append(defect)
    covered = fields.raw("covered") if fields.has("covered") else False
    if not isinstance(covered, bool):
        fields.refuse(fields.at("covered"), covered, "use true for protection film over the paint")
    trial = _trial(fields, unit)
    earlier = _earlier(fields, unit)
    if name is None or substrate is None or len(fields.problems) > before:
        return None
    return PanelFinding(name, substrate, spots, tuple(defects), bool(covered), trial, earlier)


def _trial(fields: Fields, unit: str) -> Trial | None:
    """A test spot: level tried, spots before and after, share seen to clear."""
    if not fields.has("test_spot"):
        return None
    inner = Fields(fields.raw("test_spot"), fields.at("test_spot"), _TRIAL_KEYS, fields.problems)
    start = len(fields.problems)
    level = inner.word("level", words.LEVELS[1:])
    before, after = _spots(inner, "before", unit), _spots(inner, "after", unit)
    for key, spots in (("before", before), ("after", after)):
        if not spots and len(fields.problems) == start:
            inner.refuse(inner.at(key), inner.raw(key), "take at least one spot of three readings")
    cleared = inner.number_if("cleared", 0.0, 1.0, "use a share from 0 to 1")
    if level is None or len(fields.problems) > start:
        return None
    return Trial(level, before, after, cleared)


def _earlier(fields: Fields, unit: str) -> tuple[EarlierFilm, ...]:
    """Mean film of the panel at earlier inspections."""
    if not fields.has("earlier"):
        return ()
    found = []
    remedy = "give a list of objects with months_ago and film"
    for index, value in enumerate(fields.items("earlier", _MOST_EARLIER, remedy)):
        path = f"{fields.at('earlier')}[{index}]"
        inner = Fields(value, path, ("months_ago", "film"), fields.problems)
        months = inner.whole("months_ago", 1, _MOST_MONTHS, "use whole months of at least 1")
        if inner.need("film", "give the mean film measured then"):
            film_um = read_film(inner.raw("film"), inner.at("film"), unit, fields.problems)
            if months is not None and film_um is not None:
                found.append(EarlierFilm(months, film_um))
    return tuple(found)


def _spots(fields: Fields, key: str, unit: str) -> Spots:
    remedy = "give a list of spots, each a list of three readings or more"
    spots = []
    for index, value in enumerate(fields.items(key, _MOST_SPOTS, remedy)):
        path = f"{fields.at(key)}[{index}]"
        if not isinstance(value, list):
            fields.refuse(path, value, "use a list of three readings or more")
            continue
        if not LEAST_READINGS <= len(value) <= _MOST_READINGS:
            found = f"{len(value)} readings"
            fields.refuse(path, found, f"take {LEAST_READINGS} to {_MOST_READINGS} readings")
        readings = [
            read_film(reading, f"{path}[{place}]", unit, fields.problems)
            for place, reading in enumerate(value[:_MOST_READINGS])
        ]
        spots.append(tuple(reading for reading in readings if reading is not None))
    return tuple(spots)


def read_film(value: Any, path: str, unit: str, problems: list[Problem]) -> float | None:
    """One gauge reading in micrometres."""
    most = MOST_READING_UM / to_um(1.0, unit)
    remedy = f"use a reading above 0, at most {film_text(MOST_READING_UM, unit)}"
    number = checked_number(value, path, 0.0, most, remedy, problems, above=True)
    if number is None:
        return None
    film_um = to_um(number, unit)
    if film_um <= 0:  # so small that it vanishes when kept to a picometre
        problems.append(Problem(path, value, remedy))
        return None
    return film_um


def _defect(fields: Fields, spots: Spots, unit: str) -> Defect | None:
    before = len(fields.problems)
    kind = fields.word("kind", words.KINDS)
    if kind is None:
        return None
    if kind in words.COUNT_KINDS:
        severity = fields.word("severity", words.SEVERITIES, "moderate")
        _unwanted(fields, ("extent",), f"{kind} is counted: use count")
        number = fields.whole(
            "count", 1, _MOST_COUNT, f"use a whole number from 1 to {_MOST_COUNT}"
        )
        local_um = _local(fields, spots, unit)
        if severity is None or len(fields.problems) > before:
            return None
        return Defect(kind, severity, count=number, local_reading_um=local_um)
    severity = fields.word("severity", words.SEVERITIES)
    _unwanted(fields, ("count", "local_reading"), f"{kind} is measured by its extent")
    extent = fields.number("extent", 0.0, 1.0, "use a share of the panel from 0 to 1")
    if severity is None or len(fields.problems) > before:
        return None
    return Defect(kind, severity, extent=extent)


def _unwanted(fields: Fields, keys: tuple[str, ...], remedy: str) -> None:
    for key in keys:
        if fields.has(key):
            fields.refuse(fields.at(key), fields.raw(key), remedy)


def _local(fields: Fields, spots: Spots, unit: str) -> float | None:
    """Reading at the bottom of a mark; it must lie under the panel around it."""
    if not fields.has("local_reading"):
        return None
    path, value = fields.at("local_reading"), fields.raw("local_reading")
    local_um = read_film(value, path, unit, fields.problems)
    if local_um is None:
        return None
    means = [sum(spot) / len(spot) for spot in spots if spot]
    if not means:
        fields.refuse(path, value, "leave it out where the panel itself has no readings")
        return None
    around_um = sum(means) / len(means)
    if local_um > around_um:
        remedy = f"use a reading under the panel around it, {film_text(around_um, unit)}"
        fields.refuse(path, value, remedy)
        return None
    return local_um
