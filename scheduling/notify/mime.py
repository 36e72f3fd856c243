"""A message in the form that mail readers and servers take."""

from __future__ import annotations

from email.utils import formataddr, parseaddr

from django.conf import settings
from django.core.mail import EmailMultiAlternatives

from scheduling.notify.contract import Message


def mime_of(message: Message) -> EmailMultiAlternatives:
    """Return subject, text and HTML as one mail; a repeat has the same Message-ID."""
    _name, address = parseaddr(settings.DEFAULT_FROM_EMAIL)
    host = address.rpartition("@")[2] or "localhost"
    stop = {}
    if message.stop_link:
        # One click in the mail reader itself (RFC 8058).
        stop = {
            "List-Unsubscribe": f"<{message.stop_link}>",
            "List-Unsubscribe-Post": "List-Unsubscribe=One-Click",
        }
    mail = EmailMultiAlternatives(
        subject=message.subject or message.text.splitlines()[0][:78],
        body=message.text,
        from_email=formataddr((message.sender_name, address)),
        to=[message.recipient],
        reply_to=[message.reply_to] if message.reply_to else None,
        headers={
            "Message-ID": f"<{message.key.replace('/', '.')}@{host}>",
            # Says to other machines that no person wrote it (RFC 3834).
            "Auto-Submitted": "auto-generated",
            "X-Channel": message.channel,
            **stop,
        },
    )
    if message.html:
        mail.attach_alternative(message.html, "text/html")
    return mail
