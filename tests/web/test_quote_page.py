"""The quote document: what it says, sent by letter or by hand, declined, booked."""

from datetime import timedelta

import time_machine
from django.core import mail
from django.urls import reverse

from estimating.core.options import Options
from shop.models import Job
from tests.factories import NOW


def test_it_says_work_range_price_and_cautions(world, desk, text):
    quote = world.quote(options=Options(coating="lantern"), inspection=world.inspection)
    said = text(desk.get(reverse("quote", args=[quote.pk])))
    assert quote.title in said
    assert f"${quote.price:,.2f}" in said
    assert f"${quote.price_p10:,.0f}" in said
    assert "Front left fender" in said
    assert "Do not wash it for 7 days" in said
    assert "valid until 16 Mar 2026" in said


def test_a_letter_goes_out_once_in_text_and_html_and_the_quote_is_sent(world, desk):
    quote = world.quote()
    desk.post(reverse("quote_letter", args=[quote.pk]))
    quote.refresh_from_db()
    (letter,) = mail.outbox
    assert isinstance(letter, mail.EmailMultiAlternatives)
    assert quote.state == "sent"
    assert letter.to == [quote.customer.email]
    assert quote.number in letter.subject
    assert f"${quote.price:,.2f}" in letter.body
    assert letter.alternatives[0][1] == "text/html"


def test_a_letter_the_server_does_not_take_is_not_called_sent(world, desk, settings, text):
    settings.EMAIL_BACKEND = "django.core.mail.backends.smtp.EmailBackend"
    settings.EMAIL_HOST, settings.EMAIL_PORT = "127.0.0.1", 1
    quote = world.quote()
    answer = desk.post(reverse("quote_letter", args=[quote.pk]))
    quote.refresh_from_db()
    assert (answer.status_code, quote.state) == (400, "open")
    assert "did not take the letter" in text(answer)


def test_without_an_address_it_is_noted_by_hand(world, desk, text):
    world.vehicle.customer.email = ""
    world.vehicle.customer.save()
    quote = world.quote()
    refused = desk.post(reverse("quote_letter", args=[quote.pk]))
    assert "No e-mail address is known" in text(refused)
    desk.post(reverse("quote_letter", args=[quote.pk]), {"by": "hand"})
    quote.refresh_from_db()
    assert (quote.state, mail.outbox) == ("sent", [])


def test_declining_needs_a_word_why(world, desk, text):
    quote = world.quote()
    url = reverse("quote_no", args=[quote.pk])
    refused = desk.post(url, {"why": " "})
    assert refused.status_code == 400
    assert "Say why" in text(refused).split('id="why_error"')[1]
    assert desk.post(url, {"why": "too dear"}).status_code == 302
    quote.refresh_from_db()
    assert quote.state == "declined"


def test_accepting_books_the_picked_visit(world, desk):
    quote = world.quote()
    url = reverse("quote_visit", args=[quote.pk])
    key, offer = desk.get(url).context["offers"][-1]
    answer = desk.post(url, {"slot": key})
    job = Job.objects.get()
    assert answer.headers["Location"] == reverse("job", args=[job.pk])
    assert job.arrives_at == offer.arrives_at


def test_after_its_last_day_it_cannot_be_accepted(world, desk, text):
    quote = world.quote()
    url = reverse("quote_visit", args=[quote.pk])
    with time_machine.travel(quote.valid_until + timedelta(minutes=1), tick=False):
        later = world.client("desk")
        key = later.get(url).context["offers"][0][0]
        answer = later.post(url, {"slot": key})
    assert answer.status_code == 400
    assert "was valid until" in text(answer)
    assert (Job.objects.count(), quote.created_at) == (0, NOW)


def test_it_is_there_as_a_pdf_for_the_desk_alone(world, desk):
    quote = world.quote(inspection=world.inspection)
    url = reverse("quote_pdf", args=[quote.pk])
    assert f'href="{url}"' in desk.get(reverse("quote", args=[quote.pk])).text
    answer = desk.get(url)
    assert (answer.status_code, answer.headers["Content-Type"]) == (200, "application/pdf")
    assert answer.headers["Content-Disposition"] == f'attachment; filename="{quote.number}-v1.pdf"'
    assert answer.content.startswith(b"%PDF-")
    assert world.client("tech").get(url).status_code == 403
    assert world.client("outsider").get(url).status_code == 404


def test_the_last_similar_quotes_stand_beside_it(world, desk, text):
    earlier, quote = world.quote(), world.quote()
    said = text(desk.get(reverse("quote", args=[quote.pk]))).split("Last similar quotes")[1]
    assert earlier.number in said
    assert f"${earlier.price:,.0f}" in said
