"""The address of a customer's visit, as it is shown at the desk and goes into messages."""

from __future__ import annotations

from datetime import datetime

from django.conf import settings
from django.db import transaction
from django.urls import reverse
from django.utils.translation import gettext as _

from estimating.models import Quote
from estimating.services.customer_pages import page_link, page_of
from scheduling.feeds.tokens import token_hash, token_of_visit
from scheduling.models import CalendarFeed, FeedKind, Reminder, ReminderPurpose
from shop.models import Channel, Job, Member


@transaction.atomic
def visit_feed_token(
    *, job: Job, now: datetime, member: Member | None = None, anew: bool = False
) -> str:
    """Return the token of a customer's visit, the same each time until it is made anew.

    Parameters
    ----------
    anew
        End the address before and make another.
    """
    feed = CalendarFeed.objects.select_for_update().filter(job=job).first()
    if feed is None or anew:
        feed = feed or CalendarFeed(shop_id=job.shop_id, kind=FeedKind.VISIT, job=job)
        token = token_of_visit(feed.namespace, feed.generation + 1)
        feed.token_hash, feed.made_by, feed.made_at = token_hash(token), member, now
        feed.generation += 1
        feed.save()
        return token
    token = token_of_visit(feed.namespace, feed.generation)
    if feed.token_hash != token_hash(token):
        # The site's secret key is another than when it was made.
        feed.token_hash = token_hash(token)
        feed.save(update_fields=["token_hash"])
    return token


def visit_feed_line(reminder: Reminder) -> str:
    """How to have the visit in one's own calendar, for the e-mail that confirms it.

    Empty in every other message, and where the site has no public address. Reads only:
    the address was made with the booking.
    """
    if not _confirms(reminder):
        return ""
    feed = CalendarFeed.objects.filter(job=reminder.job_id, job__isnull=False).first()
    if feed is None:
        return ""
    token = token_of_visit(feed.namespace, feed.generation)
    if feed.token_hash != token_hash(token):
        return ""
    return _("Your visit in your own calendar, kept up to date: %s") % (
        settings.PUBLIC_URL + reverse("feed", args=[token])
    )


def visit_page_line(reminder: Reminder) -> str:
    """The customer's own page, for the e-mail that confirms the visit; else empty. Reads only."""
    if not _confirms(reminder):
        return ""
    quote = Quote.objects.filter(job=reminder.job_id, job__isnull=False).only("shop", "number")
    found = quote.first()
    link = page_link(page_of(found)) if found is not None else ""
    return _("What is done, how it stands, and what comes after: %s") % link if link else ""


def _confirms(reminder: Reminder) -> bool:
    """Whether this is the e-mail that confirms a visit, of a site with a public address."""
    fits = (reminder.purpose, reminder.channel) == (ReminderPurpose.CONFIRM, Channel.EMAIL)
    return fits and bool(settings.PUBLIC_URL)
