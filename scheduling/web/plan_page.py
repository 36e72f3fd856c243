"""A proposal as its page shows it: answers, what each costs, and lines before and after."""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Mapping
from dataclasses import dataclass
from datetime import datetime, timedelta
from typing import Any, Final

from django.utils.translation import gettext as _
from django.utils.translation import ngettext

from scheduling.models import PlanRun
from shop.web.show import minutes_text

_TITLES: Final = {
    "week": lambda: _("A better week"),
    "nobody": lambda: _("Nobody else moves"),
    "few": lambda: _("A few others move"),
}


@dataclass(frozen=True)
class Line:
    """One vehicle before and after; ``later`` and ``earlier`` are words, one of them empty."""

    key: str
    job: int
    number: str
    vehicle: str
    customer: str
    before: datetime | None
    after: datetime
    minutes: int
    later: str
    earlier: str
    sure_before: str | None
    sure_after: str | None
    places: str
    people: str
    hit: bool
    told: bool
    notes: tuple[str, ...]


@dataclass(frozen=True)
class Answer:
    """One answer; without lines it says why there is none, or that nothing is to gain."""

    key: str
    title: str
    proven: bool
    found: bool
    gains: tuple[str, ...]
    costs: tuple[str, ...]
    reasons: tuple[str, ...]
    lines: tuple[Line, ...]


def plan_page(run: PlanRun, now: datetime) -> dict[str, Any]:
    """Return what the page of a search shows besides its row."""
    answers = [_answer(one) for one in run.proposal.get("answers", ())]
    return {
        "now": now,
        "answers": answers,
        "hit": run.proposal.get("hit", ()),
        "to_accept": run.over and run.answered_at is None,
        "accepted": ", ".join(run.accepted[1:]),
        "done_share": min(100, round(100 * run.seconds / max(1, run.most_seconds))),
        "gained": _gained(run),
    }


def _gained(run: PlanRun) -> float | None:
    if run.before is None or run.best is None or run.before <= 0:
        return None
    return max(0.0, (run.before - run.best) / run.before)


def _answer(data: Mapping[str, Any]) -> Answer:
    lines = tuple(_line(row) for row in data["rows"])
    drives = _drives(data)
    return Answer(
        key=data["key"],
        title=_TITLES[data["key"]](),
        proven=data["status"] == "optimal",
        found="points" in data,
        gains=tuple(_gains(lines, drives)),
        costs=tuple(_costs(lines, drives)),
        reasons=tuple(data.get("reasons", ())),
        lines=lines,
    )


def _drives(data: Mapping[str, Any]) -> int:
    moves = data.get("parts", {}).get("moves", {"before": 0, "after": 0})
    return int(moves["after"] - moves["before"])


def _gains(lines: Iterable[Line], drives: int) -> Iterator[str]:
    earlier = sum(-line.minutes for line in lines if line.minutes < 0)
    if earlier:
        yield _("pick-ups %s earlier in all") % minutes_text(earlier)
    if drives < 0:
        yield ngettext("%d drive in the shop less", "%d drives in the shop less", -drives) % -drives


def _costs(lines: Iterable[Line], drives: int) -> Iterator[str]:
    later = [line for line in lines if line.minutes > 0]
    if later:
        words = {"n": len(later), "time": minutes_text(sum(line.minutes for line in later))}
        yield (
            ngettext(
                "%(n)d customer waits longer, %(time)s",
                "%(n)d customers wait longer, %(time)s in all",
                len(later),
            )
            % words
        )
    if drives > 0:
        yield ngettext("%d drive in the shop more", "%d drives in the shop more", drives) % drives


def _line(row: Mapping[str, Any]) -> Line:
    before = None if row["pick_up_before"] is None else _at(row["pick_up_before"])
    after = _at(row["pick_up_after"])
    shift = timedelta() if before is None else after - before
    words = minutes_text(abs(shift).total_seconds() / 60)
    return Line(
        key=row["key"],
        job=row["job"],
        number=row["number"],
        vehicle=row["vehicle"],
        customer=row["customer"],
        before=before,
        after=after,
        minutes=round(shift.total_seconds() / 60),
        later=_("%s later") % words if shift > timedelta() else "",
        earlier=_("%s earlier") % words if shift < timedelta() else "",
        sure_before=row["sure_before"],
        sure_after=row["sure_after"],
        places=_change(row["bays_before"], row["bays_after"]),
        people=_change(row["crew_before"], row["crew_after"]),
        hit=row["hit"],
        told=row["told"],
        notes=tuple(row["notes"]),
    )


def _change(before: list[str], after: list[str]) -> str:
    """Name what is the same once, and what changes both ways."""
    if before == after:
        return ", ".join(after)
    return _("%(before)s → %(after)s") % {
        "before": ", ".join(before) or "–",
        "after": ", ".join(after) or "–",
    }


def _at(text: str) -> datetime:
    return datetime.fromisoformat(text)
