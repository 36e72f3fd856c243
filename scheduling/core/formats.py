"""Read and write ``halfmil-week/1`` (a problem) and ``halfmil-plan/1`` (its answer).

Everything that is wrong with a file is refused with the JSON path, the value that stood there
and what would be right; nothing is guessed or dropped.
"""

from __future__ import annotations

from collections.abc import Iterable
from typing import Any

from scheduling.core.problem import (
    CrewMember,
    Frozen,
    Job,
    Mode,
    Objective,
    Operation,
    Parts,
    Placement,
    Plan,
    PlanStatus,
    Spot,
    Week,
)
from scheduling.core.refusal import (
    WeekRefused,
    each,
    entries,
    flag,
    made,
    mapping,
    number,
    parse,
    text_of,
    texts,
    whole_number,
    windows_of,
)
from scheduling.core.values import Window

__all__ = ["WeekRefused", "plan_to_data", "read_plan", "read_week", "week_to_data"]

WEEK_FORMAT = "halfmil-week/1"
PLAN_FORMAT = "halfmil-plan/1"


def read_week(text: str | bytes) -> Week:
    """Return the week of a ``halfmil-week/1`` file.

    Raises
    ------
    WeekRefused
        If it is not one, with the path, the value and the remedy.
    """
    top = entries(
        _file(text, WEEK_FORMAT),
        "$",
        needed=("format", "grid", "horizon", "objective", "spots", "jobs"),
        allowed=("name", "seed", "calendars", "opening", "crew", "lamps", "frozen", "preferred"),
    )
    calendars = mapping(top.get("calendars", {}), "$.calendars")
    frozen = mapping(top.get("frozen", {}), "$.frozen")
    preferred = mapping(top.get("preferred", {}), "$.preferred")
    return made(
        "$",
        lambda: Week(
            grid=top["grid"],
            horizon=top["horizon"],
            objective=_objective(top["objective"], "$.objective"),
            calendars={
                key: windows_of(value, f"$.calendars.{key}") for key, value in calendars.items()
            },
            opening=windows_of(top.get("opening", []), "$.opening"),
            spots=tuple(each(top["spots"], "$.spots", _spot)),
            crew=tuple(each(top.get("crew", []), "$.crew", _person)),
            lamps=top.get("lamps", 0),
            jobs=tuple(each(top["jobs"], "$.jobs", _job)),
            frozen={key: _frozen(value, f"$.frozen.{key}") for key, value in frozen.items()},
            preferred={
                key: _frozen(value, f"$.preferred.{key}") for key, value in preferred.items()
            },
            name=text_of(top.get("name", ""), "$.name"),
            seed=top["seed"] if isinstance(top.get("seed"), int) else 0,
        ),
    )


def week_to_data(week: Week) -> dict[str, Any]:
    """Return the week as data for ``json.dumps``; :func:`read_week` reads it back the same."""
    goal = week.objective
    objective = {key: getattr(goal, key) for key in ("tardiness", "flow", "move", "per")}
    for key in ("makespan", "change"):
        if getattr(goal, key):
            objective[key] = getattr(goal, key)
    data: dict[str, Any] = {
        "format": WEEK_FORMAT,
        "name": week.name,
        "seed": week.seed,
        "grid": week.grid,
        "horizon": week.horizon,
        "objective": objective,
        "calendars": {key: _pairs(windows) for key, windows in week.calendars.items()},
        "opening": _pairs(week.opening),
        "spots": [_spot_data(spot) for spot in week.spots],
        "crew": [
            {"id": one.id, "calendar": one.calendar, "skills": sorted(one.skills)}
            for one in week.crew
        ],
        "lamps": week.lamps,
        "jobs": [_job_data(job) for job in week.jobs],
        "frozen": {key: _frozen_data(kept) for key, kept in week.frozen.items()},
    }
    if week.preferred:
        data["preferred"] = {key: _frozen_data(kept) for key, kept in week.preferred.items()}
    return data


def read_plan(text: str | bytes) -> Plan:
    """Return the plan of a ``halfmil-plan/1`` file.

    Raises
    ------
    WeekRefused
        If it is not one.
    """
    top = entries(
        _file(text, PLAN_FORMAT),
        "$",
        needed=("format", "status"),
        allowed=("objective", "bound", "gap", "seconds", "parts", "ops", "waits", "reasons"),
    )
    if top["status"] not in tuple(PlanStatus):
        raise WeekRefused("$.status", top["status"], f"give one of {', '.join(PlanStatus)}")
    ops = mapping(top.get("ops", {}), "$.ops")
    waits = mapping(top.get("waits", {}), "$.waits")
    return Plan(
        status=PlanStatus(top["status"]),
        ops={key: _placement(value, f"$.ops.{key}") for key, value in ops.items()},
        waits={key: tuple(each(v, f"$.waits.{key}", text_of)) for key, v in waits.items()},
        objective=number(top.get("objective"), "$.objective"),
        bound=number(top.get("bound"), "$.bound"),
        seconds=number(top.get("seconds"), "$.seconds") or 0.0,
        parts=_parts(top.get("parts", {}), "$.parts"),
        reasons=tuple(each(top.get("reasons", []), "$.reasons", text_of)),
        said_gap=number(top.get("gap"), "$.gap"),
    )


def plan_to_data(plan: Plan) -> dict[str, Any]:
    """Return the plan as data for ``json.dumps``."""
    parts = {
        "weighted_tardiness_min": _short(plan.parts.weighted_tardiness_min),
        "flow_min": plan.parts.flow_min,
        "moves": plan.parts.moves,
    }
    for key in ("makespan_min", "changes"):
        if getattr(plan.parts, key):
            parts[key] = getattr(plan.parts, key)
    data: dict[str, Any] = {
        "format": PLAN_FORMAT,
        "status": str(plan.status),
        "objective": _short(plan.objective),
        "bound": _short(plan.bound),
        "gap": None if plan.gap is None else round(plan.gap, 6),
        "seconds": round(plan.seconds, 3),
        "parts": parts,
        "ops": {
            key: {
                "start": placed.start,
                "end": placed.end,
                "spot": placed.spot,
                "crew": list(placed.crew),
                "mode": placed.mode,
                "pieces": _pairs(placed.pieces),
            }
            for key, placed in plan.ops.items()
        },
        "waits": {key: list(waits) for key, waits in plan.waits.items()},
    }
    if plan.reasons:
        data["reasons"] = list(plan.reasons)
    return data


def _short(value: float | None) -> float | None:
    """Write 12.0 as 12, and hide the last digits that only rounding made."""
    if value is None:
        return None
    rounded = round(value, 6)
    return int(rounded) if rounded == int(rounded) else rounded


def _pairs(windows: Iterable[Window]) -> list[list[int]]:
    return [[start, end] for start, end in windows]


def _spot_data(spot: Spot) -> dict[str, Any]:
    data: dict[str, Any] = {"id": spot.id, "caps": sorted(spot.caps)}
    if spot.park:
        data["park"] = True
    return data | {"capacity": spot.capacity, "closures": _pairs(spot.closures)}


def _job_data(job: Job) -> dict[str, Any]:
    data: dict[str, Any] = {"id": job.id}
    if job.kind:
        data["kind"] = job.kind
    ops = []
    for op in job.ops:
        plain = ("id", "name", "spot_cap", "crew", "skill", "pausable", "same_spot")
        fields = {key: getattr(op, key) for key in (*plain, "lag_min", "lag_max", "open_hours")}
        fields["modes"] = [{"dur": mode.dur, "lamps": mode.lamps} for mode in op.modes]
        ops.append(fields)
    if job.told is not None:
        data["told"] = job.told
    return data | {"release": job.release, "due": job.due, "weight": job.weight, "ops": ops}


def _frozen_data(kept: Frozen) -> dict[str, Any]:
    fields = {key: getattr(kept, key) for key in ("start", "end", "spot")}
    data: dict[str, Any] = {key: value for key, value in fields.items() if value is not None}
    if kept.crew is not None:
        data["crew"] = list(kept.crew)
    return data


def _file(text: str | bytes, wanted: str) -> dict[str, Any]:
    """Return the top object of a file that says it is of the wanted format."""
    top = mapping(parse(text), "$")
    if "format" not in top:
        raise WeekRefused("$", sorted(top), f"the key “format” is missing, it must be “{wanted}”")
    if top["format"] != wanted:
        raise WeekRefused("$.format", top["format"], f"must be “{wanted}”")
    return top


def _objective(value: object, path: str) -> Objective:
    needed = ("tardiness", "flow", "move", "per")
    found = entries(value, path, needed=needed, allowed=("makespan", "change"))
    return made(path, lambda: Objective(**found))


def _spot(value: object, path: str) -> Spot:
    found = entries(value, path, needed=("id", "caps"), allowed=("capacity", "closures", "park"))
    return made(
        path,
        lambda: Spot(
            id=found["id"],
            caps=texts(found["caps"], f"{path}.caps"),
            capacity=found.get("capacity", 1),
            closures=windows_of(found.get("closures", []), f"{path}.closures"),
            park=flag(found.get("park", False), f"{path}.park"),
        ),
    )


def _person(value: object, path: str) -> CrewMember:
    found = entries(value, path, needed=("id", "calendar", "skills"))
    return made(
        path,
        lambda: CrewMember(
            found["id"], found["calendar"], texts(found["skills"], f"{path}.skills")
        ),
    )


def _job(value: object, path: str) -> Job:
    allowed = ("kind", "release", "weight", "told")
    found = entries(value, path, needed=("id", "due", "ops"), allowed=allowed)
    return made(
        path,
        lambda: Job(
            id=found["id"],
            ops=tuple(each(found["ops"], f"{path}.ops", _operation)),
            release=found.get("release", 0),
            due=found["due"],
            weight=found.get("weight", 1),
            kind=text_of(found.get("kind", ""), f"{path}.kind"),
            told=found.get("told"),
        ),
    )


def _operation(value: object, path: str) -> Operation:
    flags = ("pausable", "same_spot", "open_hours")
    found = entries(
        value,
        path,
        needed=("id", "spot_cap", "crew", "modes"),
        allowed=("name", "skill", "lag_min", "lag_max", *flags),
    )
    if found.get("skill") is not None:
        text_of(found["skill"], f"{path}.skill")
    return made(
        path,
        lambda: Operation(
            id=found["id"],
            spot_cap=found["spot_cap"],
            modes=tuple(each(found["modes"], f"{path}.modes", _mode)),
            crew=found["crew"],
            skill=found.get("skill"),
            name=text_of(found.get("name", ""), f"{path}.name"),
            lag_min=found.get("lag_min", 0),
            lag_max=found.get("lag_max"),
            **{key: flag(found.get(key, False), f"{path}.{key}") for key in flags},
        ),
    )


def _mode(value: object, path: str) -> Mode:
    found = entries(value, path, needed=("dur",), allowed=("lamps",))
    return made(path, lambda: Mode(found["dur"], found.get("lamps", 0)))


def _frozen(value: object, path: str) -> Frozen:
    found = entries(value, path, allowed=("start", "end", "spot", "crew"))
    crew = found.get("crew")
    spot = found.get("spot")
    return made(
        path,
        lambda: Frozen(
            start=found.get("start"),
            end=found.get("end"),
            spot=None if spot is None else text_of(spot, f"{path}.spot"),
            crew=None if crew is None else tuple(each(crew, f"{path}.crew", text_of)),
        ),
    )


def _placement(value: object, path: str) -> Placement:
    found = entries(value, path, needed=("start", "end", "spot", "crew", "mode", "pieces"))
    return Placement(
        start=whole_number(found["start"], f"{path}.start"),
        end=whole_number(found["end"], f"{path}.end"),
        spot=text_of(found["spot"], f"{path}.spot"),
        crew=tuple(each(found["crew"], f"{path}.crew", text_of)),
        mode=whole_number(found["mode"], f"{path}.mode"),
        pieces=windows_of(found["pieces"], f"{path}.pieces"),
    )


def _parts(value: object, path: str) -> Parts:
    names = ("weighted_tardiness_min", "flow_min", "moves", "makespan_min", "changes")
    found = entries(value, path, allowed=names)
    return Parts(**{key: number(one, f"{path}.{key}") or 0 for key, one in found.items()})  # type: ignore[arg-type]
