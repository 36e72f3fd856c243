"""A visit that would end earlier if people stayed for extra pay: found apart, and priced."""

from __future__ import annotations

from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass, replace
from decimal import Decimal
from typing import Final

from scheduling.core import worktime
from scheduling.core.earliest import earliest_fit
from scheduling.core.fit import Chain, Fit
from scheduling.services.horizon import Extra, Horizon
from shop.money import rounded

MOST_TRIES: Final = 6
"""How often a stretch of overtime is tried to be spared: each is a search of its own."""
_HOUR_MINUTES: Final = Decimal(60)


@dataclass(frozen=True)
class OvertimeUse:
    """Somebody's minutes outside their own shifts, and what they cost on top of labour."""

    name: str
    minutes: int
    pay: Decimal


@dataclass(frozen=True)
class OvertimeFit:
    """An earlier visit, in a calendar in which people stay longer."""

    fit: Fit
    horizon: Horizon
    uses: tuple[OvertimeUse, ...]

    @property
    def pay(self) -> Decimal:
        """All that is paid on top of labour, in the shop's currency."""
        return sum((use.pay for use in self.uses), Decimal(0))


def overtime_fit(
    chain: Chain, horizon: Horizon, *, not_before: int, plain: Fit | None
) -> OvertimeFit | None:
    """Return the visit that ends before ``plain`` because people stay longer, if there is one.

    Nothing is searched where the shop has no overtime in these weeks. On a closed day it
    counts as well: somebody agreed to come in.

    Parameters
    ----------
    plain
        The earliest visit without overtime, or None where there is none.
    """
    if not horizon.overtime:
        return None
    found = _look(chain, horizon, horizon.overtime, not_before)
    if found is None or (plain is not None and found.fit.end >= plain.end):
        return None
    return _spared(chain, found, not_before)


@dataclass(frozen=True)
class _Found:
    fit: Fit
    horizon: Horizon
    extras: Mapping[str, Sequence[Extra]]
    plain: Horizon


def _look(
    chain: Chain, plain: Horizon, extras: Mapping[str, Sequence[Extra]], not_before: int
) -> _Found | None:
    longer = _with(plain, extras)
    fit = earliest_fit(chain, longer.index, not_before=not_before)
    return _Found(fit, longer, extras, plain) if fit.found else None


def _spared(chain: Chain, found: _Found, not_before: int) -> OvertimeFit:
    """Leave out what is not needed for the same pick-up: an hour not worked is not paid.

    One stretch after the other, the dearest first. What is left is needed altogether, which is
    not proven to be the cheapest choice.
    """
    used = [one for one in _stretches(found) if one.minutes]
    found = replace(found, extras=_grouped(used))
    for one in sorted(used, key=lambda use: -use.extra.per_hour * use.minutes)[:MOST_TRIES]:
        fewer = {
            key: [extra for extra in extras if extra is not one.extra]
            for key, extras in found.extras.items()
        }
        other = _look(chain, found.plain, fewer, not_before)
        if other is not None and other.fit.end <= found.fit.end:
            found = other
    shop, units = found.horizon.shop, found.horizon.units
    uses = []
    for key in found.extras:
        mine = [use for use in _stretches(found) if use.key == key and use.minutes]
        pay = sum((use.minutes / _HOUR_MINUTES * use.extra.per_hour for use in mine), Decimal(0))
        if mine:
            minutes = sum(use.minutes for use in mine)
            uses.append(OvertimeUse(units[key].name, minutes, rounded(pay, shop.currency)))
    return OvertimeFit(found.fit, found.horizon, tuple(uses))


def _with(horizon: Horizon, extras: Mapping[str, Iterable[Extra]]) -> Horizon:
    """The same calendar in which these people work longer; the door opens as ever."""
    added = {
        key: [window for extra in found for window in extra.windows]
        for key, found in extras.items()
    }
    crew = tuple(
        replace(one, windows=tuple(worktime.join([*one.windows, *added[one.id]])))
        if one.id in added
        else one
        for one in horizon.resources.crew
    )
    resources = replace(horizon.resources, crew=crew)
    return replace(horizon, resources=resources, index=horizon.index.staffed(resources))


@dataclass(frozen=True)
class _Use:
    """Minutes of one extra that a visit uses."""

    key: str
    extra: Extra
    minutes: int


def _stretches(found: _Found) -> list[_Use]:
    uses = []
    for key, extras in found.extras.items():
        worked = worktime.join(
            (hold.start, hold.end) for hold in found.fit.holds if hold.resource == key
        )
        for extra in extras:
            shared = worktime.common(worked, extra.windows)
            uses.append(_Use(key, extra, sum(end - start for start, end in shared)))
    return uses


def _grouped(uses: Iterable[_Use]) -> dict[str, list[Extra]]:
    found: dict[str, list[Extra]] = {}
    for use in uses:
        found.setdefault(use.key, []).append(use.extra)
    return found
