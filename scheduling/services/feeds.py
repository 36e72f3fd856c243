"""Addresses of calendar feeds: make one, make it anew, withdraw it, read by it."""

from __future__ import annotations

import hashlib
from dataclasses import dataclass
from datetime import datetime

from django.db import transaction
from django.utils.translation import gettext as _

from scheduling.feeds.entries import feed_entries
from scheduling.feeds.ical import calendar_text
from scheduling.feeds.tokens import token_hash, token_new
from scheduling.models import CalendarFeed, FeedKind, Resource, ResourceKind
from shop.models import Member, Role
from shop.refusals import Forbidden, Refused


@dataclass(frozen=True)
class FeedText:
    """A feed as it is sent: its bytes and a strong validator of them."""

    body: bytes
    etag: str


@transaction.atomic
def resource_feed_open(*, resource: Resource, member: Member, now: datetime) -> str:
    """Give a bay or technician a new address; the one before ends. Return its token, once.

    Raises
    ------
    Forbidden
        A technician asks for another's, or for a bay's.
    Refused
        Lamps and parking spots have no calendar.
    """
    _refuse_unless_allowed(resource, member)
    kinds = {ResourceKind.BAY: FeedKind.BAY, ResourceKind.TECHNICIAN: FeedKind.TECHNICIAN}
    if resource.kind not in kinds:
        raise Refused(_("%s has no calendar; only bays and technicians have.") % resource.name)
    token = token_new()
    feed = CalendarFeed.objects.select_for_update().filter(resource=resource).first()
    feed = feed or CalendarFeed(
        shop_id=resource.shop_id, kind=kinds[ResourceKind(resource.kind)], resource=resource
    )
    feed.token_hash, feed.made_by, feed.made_at = token_hash(token), member, now
    feed.generation += 1
    feed.save()
    return token


@transaction.atomic
def resource_feed_withdraw(*, resource: Resource, member: Member) -> None:
    """End a resource's address: whoever has it finds nothing from now on.

    Raises
    ------
    Forbidden
        As for making one.
    """
    _refuse_unless_allowed(resource, member)
    CalendarFeed.objects.filter(resource=resource).update(token_hash=None)


def feed_text(*, token: str, now: datetime) -> FeedText | None:
    """Return the calendar behind a token, or None where there is none (any more)."""
    rows = CalendarFeed.objects.select_related(
        "shop", "resource__member", "job__vehicle", "job__shop"
    )
    feed = rows.filter(token_hash=token_hash(token)).first()
    if feed is None or not _is_current(feed):
        return None
    name = feed.resource.name if feed.resource else _("Visit %s") % feed.job
    entries = feed_entries(feed=feed, now=now)
    body = calendar_text(f"{name}, {feed.shop.name}", feed.namespace, entries)
    return FeedText(body, f'"{hashlib.sha256(body).hexdigest()[:32]}"')


def _is_current(feed: CalendarFeed) -> bool:
    """Whoever has left the shop no longer reads its calendar."""
    resource = feed.resource
    if resource is None:
        return True
    return resource.active and (resource.member is None or resource.member.active)


def _refuse_unless_allowed(resource: Resource, member: Member) -> None:
    own = resource.member_id == member.pk
    if resource.shop_id != member.shop_id or not (own or member.role == Role.OWNER):
        raise Forbidden(_("Only the owner makes addresses for bays and for other people."))
