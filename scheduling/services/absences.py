"""A person, lamp, bay or spot that is not there for a while, and back again."""

from __future__ import annotations

from datetime import datetime, timedelta
from typing import Final

from django.db import transaction
from django.utils.translation import gettext as _

from scheduling.models import Absence, Resource
from scheduling.services.holds import minute_after
from scheduling.services.when import stretch_text
from shop.models import Member
from shop.refusals import Problem, Refused

LONGEST: Final = timedelta(days=400)
"""Longer is a mistyped year, or somebody who has left."""


@transaction.atomic
def absence_add(
    *,
    resource: Resource,
    member: Member,
    now: datetime,
    start: datetime,
    end: datetime,
    reason: str,
) -> Absence:
    """Note that a resource is away over ``[start, end)``. Nothing that is booked moves by it.

    Raises
    ------
    Refused
        The times are not in order, over, too long, or the absence is known already.
    """
    if end <= start:
        raise Refused(Problem(_("Must be after the beginning."), field="end"))
    if end <= now:
        raise Refused(Problem(_("That is over already; give an end that is to come."), field="end"))
    if end - start > LONGEST:
        text = _("More than %(days)s days away; check the year.") % {"days": LONGEST.days}
        raise Refused(Problem(text, field="end"))
    if resource.shop_id != member.shop_id:
        raise Refused(Problem(_("Not of this shop."), field="resource"))
    # Race: two people note the same. The row of the resource makes the second wait.
    Resource.objects.select_for_update(no_key=True).get(pk=resource.pk)
    there = resource.absences.filter(start__lt=end, end__gt=start).first()
    if there is not None:
        words = {
            "what": resource.name,
            "when": stretch_text(there.start, there.end, resource.shop),
        }
        text = _("%(what)s is noted as away already, %(when)s; take that back first.") % words
        raise Refused(Problem(text, field="resource"))
    return Absence.objects.create(resource=resource, start=start, end=end, reason=reason.strip())


@transaction.atomic
def absence_end(*, absence: Absence, now: datetime) -> None:
    """Take an absence back: one that has begun ends now, one to come is removed."""
    back = minute_after(now)
    locked = Absence.objects.select_for_update().get(pk=absence.pk)
    if locked.start >= back:
        locked.delete()
    elif locked.end > back:
        locked.end = back
        locked.save(update_fields=["end"])
