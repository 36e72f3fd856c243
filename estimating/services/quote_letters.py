"""A quote on its way to the customer by e-mail."""

from __future__ import annotations

from datetime import datetime
from smtplib import SMTPException

from django.core.mail import EmailMultiAlternatives
from django.template.loader import render_to_string
from django.utils.translation import gettext as _

from estimating.documents.quote_pdf import quote_pdf, quote_pdf_name
from estimating.models import Quote, QuoteState
from estimating.services.customer_pages import page_ensure, page_link
from estimating.services.quotes import quote_send
from shop.models import Member
from shop.refusals import Problem, Refused


def quote_letter_send(*, quote: Quote, member: Member, now: datetime) -> Quote:
    """Send a quote, on paper as well, to the customer's e-mail address; note it as sent.

    The letter names the customer's page where the site has a public address and the
    shop has not withdrawn it.

    The letter goes first, outside any transaction: one that could not be handed
    over must not be called sent. Should noting fail after that, the letter has
    gone out and the desk sees a quote still open, which it can send again.

    Raises
    ------
    Refused
        There is no address, the quote is no longer open or valid, or no mail
        server took the letter.
    """
    if not quote.customer.email:
        message = _("No e-mail address is known; print the quote, then note it as sent.")
        raise Refused(Problem(message, field="email"))
    if quote.state not in (QuoteState.OPEN, QuoteState.SENT) or now >= quote.valid_until:
        raise Refused(_("%s can no longer be accepted; make a new version.") % quote)
    context = {
        "quote": quote,
        "shop": quote.shop,
        "tz": quote.shop.tz,
        "link": page_link(page_ensure(quote=quote, now=now, member=member)),
    }
    subject = " ".join(render_to_string("quote/letter_subject.txt", context).split())
    letter = EmailMultiAlternatives(
        subject,
        render_to_string("quote/letter.txt", context),
        to=[quote.customer.email],
        reply_to=[quote.shop.email] if quote.shop.email else None,
    )
    letter.attach_alternative(render_to_string("quote/letter.html", context), "text/html")
    letter.attach(quote_pdf_name(quote), quote_pdf(quote), "application/pdf")
    try:
        letter.send()
    except (OSError, SMTPException) as error:
        message = _("The mail server did not take the letter (%s). Try again, or print the quote.")
        raise Refused(message % error) from error
    return quote_send(quote=quote, member=member, now=now)
