"""What messages say: the house's wording, the owner's own, and the names that go into it.

The wording holds ``{names}`` in braces and nothing else: no expression of an
owner's text is ever run.
"""

from __future__ import annotations

import re
from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from functools import cache
from pathlib import Path
from typing import Final

from django.conf import settings
from django.db import transaction
from django.template.loader import render_to_string
from django.utils.translation import gettext as _

from scheduling.models import MessageTemplate, Reminder
from scheduling.services.message_facts import facts_near, facts_of, names_of
from scheduling.services.opt_out import stop_line
from scheduling.services.purposes import PURPOSES
from scheduling.services.visit_feeds import visit_feed_line, visit_page_line
from shop.models import Channel, Shop
from shop.refusals import Problem, Refused

_NAME: Final = re.compile(r"\{([^{}]*)\}")
SUBJECT_LENGTH: Final = 200


@dataclass(frozen=True)
class Wording:
    """Subject and text with names in braces; a text message has no subject."""

    subject: str
    text: str


@dataclass(frozen=True)
class Written:
    """Subject, text and HTML of one message, names filled in."""

    subject: str
    text: str
    html: str


def wording_for(shop: Shop, purpose: str, channel: str) -> Wording:
    """Return the owner's wording where there is one, else the house's."""
    own = MessageTemplate.objects.of(shop).filter(purpose=purpose, channel=channel).first()
    if own is not None:
        return Wording(own.subject, own.text)
    return wording_of_house(purpose, channel)


@cache
def wording_of_house(purpose: str, channel: str) -> Wording:
    """Return the wording in ``templates/messages``; the first line of an e-mail is its subject."""
    file = Path(settings.BASE_DIR) / "templates" / "messages" / f"{purpose}.{channel}.txt"
    text = file.read_text(encoding="utf-8")
    if channel != Channel.EMAIL:
        return Wording("", text.strip())
    subject, _newline, rest = text.partition("\n")
    return Wording(subject.strip(), rest.strip())


def wording_problems(wording: Wording, purpose: str, channel: str) -> list[Problem]:
    """Return what is wrong with a wording: names nobody knows, braces left open, nothing said."""
    if purpose not in PURPOSES:
        return [Problem(_("There is no such message."), "purpose")]
    if channel not in Channel.values:
        return [Problem(_("There is no such channel."), "channel")]
    problems = []
    if not wording.text.strip():
        problems.append(Problem(_("Write what the message says."), "text"))
    if channel == Channel.EMAIL and not wording.subject.strip():
        problems.append(Problem(_("An e-mail needs a subject."), "subject"))
    if len(wording.subject) > SUBJECT_LENGTH or "\n" in wording.subject:
        text = _("The subject is one line of at most %s characters.") % SUBJECT_LENGTH
        problems.append(Problem(text, "subject"))
    for field, text in (("subject", wording.subject), ("text", wording.text)):
        problems += [Problem(said, field) for said in _name_problems(text, names_of(purpose))]
    return problems


def _name_problems(text: str, names: Sequence[str]) -> list[str]:
    known = ", ".join(f"{{{name}}}" for name in names)
    said = [
        _("{%(name)s} is not known; use %(known)s.") % {"name": name, "known": known}
        for name in dict.fromkeys(_NAME.findall(text))
        if name not in names
    ]
    if "{" in _NAME.sub("", text) or "}" in _NAME.sub("", text):
        said.append(_("A brace is open or alone; braces stand only around names."))
    return said


@transaction.atomic
def message_template_save(
    *, shop: Shop, purpose: str, channel: str, subject: str, text: str
) -> MessageTemplate:
    """Keep the owner's wording for one purpose and channel.

    Raises
    ------
    Refused
        Unknown purpose, channel or name in braces; nothing said; with fields.
    """
    problems = wording_problems(Wording(subject, text), purpose, channel)
    if problems:
        raise Refused(*problems)
    row, _made = MessageTemplate.objects.update_or_create(
        shop=shop,
        purpose=purpose,
        channel=channel,
        defaults={"subject": subject, "text": text},
    )
    return row


@transaction.atomic
def message_template_drop(*, shop: Shop, purpose: str, channel: str) -> None:
    """Go back to the house's wording."""
    MessageTemplate.objects.of(shop).filter(purpose=purpose, channel=channel).delete()


def message_preview(*, shop: Shop, purpose: str, channel: str, subject: str, text: str) -> Written:
    """Return a wording filled with the facts of a real message or visit of the shop.

    Raises
    ------
    Refused
        As :func:`message_template_save`.
    """
    wording = Wording(subject, text)
    problems = wording_problems(wording, purpose, channel)
    if problems:
        raise Refused(*problems)
    facts = facts_near(shop, purpose)
    return _filled(wording, channel, {name: facts.get(name, "…") for name in names_of(purpose)})


def message_write(reminder: Reminder) -> Written:
    """Return what a reminder says now; beneath it page, calendar, and how to stop such messages.

    Raises
    ------
    Refused
        The shop's own wording holds a name that is not known.
    """
    wording = wording_for(reminder.shop, reminder.purpose, reminder.channel)
    problems = wording_problems(wording, reminder.purpose, reminder.channel)
    if problems:
        raise Refused(*problems)
    return _filled(wording, reminder.channel, facts_of(reminder), _beneath(reminder))


def _beneath(reminder: Reminder) -> list[str]:
    lines = (visit_page_line(reminder), visit_feed_line(reminder), stop_line(reminder))
    return [line for line in lines if line]


def _filled(
    wording: Wording, channel: str, facts: Mapping[str, str], beneath: Sequence[str] = ()
) -> Written:
    def fill(text: str) -> str:
        # In one go: braces inside a customer's name are not names.
        return _NAME.sub(lambda found: facts[found.group(1)], text)

    # A line break in a name must not become a mail header.
    subject = " ".join(fill(wording.subject).split())
    joint = "\n\n" if channel == Channel.EMAIL else " "
    text = joint.join([fill(wording.text), *beneath])
    html = ""
    if channel == Channel.EMAIL:
        paragraphs = [part.strip() for part in text.split("\n\n") if part.strip()]
        html = render_to_string(
            "messages/message.html", {"subject": subject, "paragraphs": paragraphs}
        )
    return Written(subject, text, html)
