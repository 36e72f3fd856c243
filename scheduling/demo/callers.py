"""Invented callers, their vehicles and what a walk round them finds; seeded."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import date, timedelta
from random import Random
from typing import Any

_SEVERITIES = ("light", "moderate", "heavy")
_STORAGE = ("garage", "carport", "street")
_WASH = ("hand", "touchless", "brushes", "rarely")


@dataclass(frozen=True)
class Caller:
    """One invented caller with one vehicle. Ages in months, film in µm."""

    name: str
    phone: str
    email: str
    wants_texts: bool
    body: str
    description: str
    colour: str
    tone: str
    first_used_on: date
    age_months: int
    hardness: str
    storage: str
    wash_habit: str
    film_um: float


def callers_invent(*, count: int, rng: Random, today: date, script: dict[str, Any]) -> list[Caller]:
    """Return ``count`` callers with names that do not repeat."""
    words = script["callers"]
    pairs = [(a, b) for a in words["first_names"] for b in words["last_names"]]
    return [
        _caller(index, first, last, rng, today, words)
        for index, (first, last) in enumerate(rng.sample(pairs, count))
    ]


def _caller(
    index: int, first: str, last: str, rng: Random, today: date, words: dict[str, Any]
) -> Caller:
    vehicle = rng.choice(words["vehicles"])
    colour = rng.choice(words["colours"])
    age_months = rng.choice((2, 3, 5, 8, 14, 20, 26, 30, 34, 45, 60, 84))
    return Caller(
        name=f"{first} {last}",
        # 555-0110 to 555-0199 in several area codes, all reserved for fiction.
        phone=f"+1{202 + index // 90}55501{10 + index % 90}",
        email=f"{first}.{last}@example.com".lower(),
        wants_texts=rng.random() < 0.5,
        body=vehicle["body"],
        description=f"{vehicle['words']}, {colour['words']}",
        colour=colour["words"],
        tone=colour["tone"],
        first_used_on=today - timedelta(days=round(age_months * 30.44) + 3),
        age_months=age_months,
        hardness=rng.choices(("soft", "medium", "hard"), (2, 5, 3))[0],
        storage=rng.choice(_STORAGE),
        wash_habit=rng.choice(_WASH),
        film_um=rng.gauss(122, 9),
    )


def findings_invent(*, caller: Caller, panels: list[str], rng: Random) -> dict[str, Any]:
    """Return the panels found, in the ``halfmil-inspection/1`` form and in mil."""
    worse = min(2, caller.age_months // 24 + (caller.wash_habit == "brushes"))
    refinished = rng.choice(panels) if rng.random() < 0.2 else ""
    return {
        "format": "halfmil-inspection/1",
        "unit": "mil",
        "panels": [_panel(p, p == refinished, caller, worse, rng) for p in panels],
    }


def _panel(panel: str, refinished: bool, caller: Caller, worse: int, rng: Random) -> dict[str, Any]:
    composite = panel.endswith(("bumper", "trim"))
    level = rng.gauss(caller.film_um, 4) + (110 if refinished else 0)
    spots = [] if composite else [_spot(level, rng) for _ in range(rng.choice((2, 3)))]
    defects: list[dict[str, Any]] = [
        {
            "kind": "swirl_marks",
            "severity": _SEVERITIES[max(0, worse - rng.choice((0, 0, 1)))],
            "extent": rng.choice((0.3, 0.5, 0.6, 0.8)),
        }
    ]
    if rng.random() < 0.15:
        defects.append({"kind": "etching", "severity": "moderate", "count": rng.choice((1, 2))})
    if spots and not refinished and rng.random() < 0.12:
        lowest = min(min(spot) for spot in spots)
        defects.append(
            {
                "kind": "deep_scratch",
                "severity": "moderate",
                "count": 1,
                "local_reading": round(lowest - 0.4, 1),
            }
        )
    return {
        "panel": panel,
        "substrate": "composite" if composite else "steel",
        "spots": spots,
        "defects": defects,
    }


def _spot(level_um: float, rng: Random) -> list[float]:
    middle = rng.gauss(level_um, 3)
    return [round(max(85.0, rng.gauss(middle, 1)) / 25.4, 1) for _ in range(3)]
