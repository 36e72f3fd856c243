"""A quote in plain words, for somebody who has never heard of a two-stage correction."""

from __future__ import annotations

from collections.abc import Iterable, Iterator
from dataclasses import dataclass
from typing import Any, Final

from django.utils.translation import gettext as _
from django.utils.translation import gettext_lazy, ngettext

from estimating.models import Quote
from estimating.web.words import GROUPS, KINDS, LEVELS, METHODS, PANELS
from shop.web import show

_PLAIN: Final = {
    "none": gettext_lazy("not polished"),
    "single": gettext_lazy("polished in one step, for haze and light swirl marks"),
    "two": gettext_lazy("polished in two steps, for most swirl marks and light scratches"),
    "multi": gettext_lazy("polished in several steps, for deeper marks as well"),
}
_WHY: Final = {
    "refinished": gettext_lazy(
        "painted again at some time: how much clear coat it has, nobody can measure"
    ),
    "thin": gettext_lazy("the paint is too thin to polish; what is there must stay"),
    "kept": gettext_lazy("left as it is to keep the price"),
    "sound": gettext_lazy("nothing was found there"),
    "unreadable": gettext_lazy("the gauge cannot read here, so only the gentlest work is safe"),
}
_CANNOT: Final = {
    "refinished": gettext_lazy("Paint of unknown thickness is left alone: %s."),
    "thin": gettext_lazy("Thin paint must stay and is not polished: %s."),
}


@dataclass(frozen=True)
class GroupWords:
    """One side of the vehicle: what is done there and why, and what share of marks goes."""

    name: str
    lines: tuple[str, ...]
    cleared: float | None


@dataclass(frozen=True)
class QuoteWords:
    """What will be done, side by side, and what cannot be."""

    groups: tuple[GroupWords, ...]
    cannot: tuple[str, ...]


def quote_words(quote: Quote) -> QuoteWords:
    """Put the plan of a quote into words, from its own snapshot."""
    panels = list(quote.estimate.get("panels", ()))
    kinds = quote.parameters.get("catalogue", {}).get("panel_kinds", ())
    group_of = {row["code"]: row["group"] for row in kinds}
    groups = (
        _group(name, [one for one in panels if group_of.get(one["panel"]) == code])
        for code, name in GROUPS.items()
    )
    return QuoteWords(tuple(filter(None, groups)), tuple(_cannot(quote, panels)))


def _group(name: Any, panels: list[dict[str, Any]]) -> GroupWords | None:
    if not panels:
        return None
    together: dict[tuple[str, str], list[str]] = {}
    for panel in panels:
        key = (panel["level"], _state(panel))
        together.setdefault(key, []).append(_panel(panel["panel"]))
    lines = [_work(level, state, names) for (level, state), names in together.items()]
    lines += [line for panel in panels for line in _spots(panel)]
    polished = any(panel["level"] != "none" or panel["spot_work"] for panel in panels)
    cleared = sum(panel["cleared"] for panel in panels) / len(panels) if polished else None
    return GroupWords(str(name), tuple(lines), cleared)


def _state(panel: dict[str, Any]) -> str:
    """The state of the paint, or why sound paint is left as it is."""
    if panel["level"] != "none" or panel["condition"] != "original" or panel["spot_work"]:
        return str(panel["condition"])
    return "kept" if "no correction in this plan" in panel["reasons"] else "sound"


def _work(level: str, condition: str, names: list[str]) -> str:
    said = f"{_listed(names)}: {_word({**LEVELS, **_PLAIN}, level)}"
    why = _WHY.get(condition)
    return f"{said} ({why})" if why else said


def _spots(panel: dict[str, Any]) -> Iterator[str]:
    for spot in panel["spot_work"]:
        if spot["method"] == "leave":
            continue
        words = {
            "panel": _panel(panel["panel"]),
            "kind": _word(KINDS, spot["kind"]).lower(),
            "how": _word(METHODS, spot["method"]),
            "n": spot["count"],
        }
        yield (
            ngettext(
                "%(panel)s, %(kind)s: one place, by hand (%(how)s)",
                "%(panel)s, %(kind)s: %(n)d places, by hand (%(how)s)",
                spot["count"],
            )
            % words
        )


def _cannot(quote: Quote, panels: list[dict[str, Any]]) -> Iterator[str]:
    """What stays as it is, and why."""
    left = [
        f"{_panel(panel['panel'])} ({_word(KINDS, spot['kind']).lower()})"
        for panel in panels
        for spot in panel["spot_work"]
        if spot["method"] == "leave"
    ]
    if left:
        text = _("Marks that stay, since to clear them would take paint that must stay: %s.")
        yield text % _listed(left)
    for condition, stays in _CANNOT.items():
        names = [
            _panel(panel["panel"])
            for panel in panels
            if panel["condition"] == condition and panel["level"] == "none"
        ]
        if names:
            yield str(stays) % _listed(names)
    film = [
        panel["remaining_p05"]
        for panel in panels
        if panel["level"] != "none" and panel["remaining_p05"] is not None
    ]
    if film and quote.inspection_id is not None:
        unit = quote.estimate.get("unit", "")
        least = f"{min(film):.2f}" if unit == "mil" else f"{min(film):.0f}"
        yield (
            _(
                "Polishing takes paint that cannot be put back. Where we polish, at least %s is "
                "expected to stay; we do not go below that for a better look."
            )
            % f"{least} {show.UNIT_NAMES.get(unit, unit)}"
        )
    yield _("Scratches that reach through the clear coat are made less visible, not undone.")


def _listed(names: Iterable[str]) -> str:
    return ", ".join(names)


def _panel(code: str) -> str:
    return _word(PANELS, code)


def _word(table: dict[str, Any], code: str) -> str:
    return str(table.get(code, code.replace("_", " ")))
