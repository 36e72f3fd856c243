"""A wish for one bay: the same calendar in which others cannot do what it can."""

from __future__ import annotations

from dataclasses import replace

from scheduling.core.fit import Chain
from scheduling.models import Resource, ResourceKind
from scheduling.services.horizon import ANY_BAY, Horizon, key_of


def with_bay_wish(horizon: Horizon, chain: Chain, bay: Resource) -> Horizon:
    """Return the calendar in which a visit's work of the kinds of ``bay`` is done there alone.

    Work that may be done in any bay stays free, since it goes where the vehicle stands. Where
    the bay does none of the work the wish says nothing.
    """
    wished = {op.spot_cap for op in chain.ops} & set(bay.capabilities) - {ANY_BAY}
    if bay.kind != ResourceKind.BAY or not wished:
        return horizon
    spots = tuple(
        spot if spot.id == key_of(bay) else replace(spot, caps=spot.caps - wished)
        for spot in horizon.resources.spots
    )
    resources = replace(horizon.resources, spots=spots)
    return replace(horizon, resources=resources, index=horizon.index.staffed(resources))
