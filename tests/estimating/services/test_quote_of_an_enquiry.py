"""A caller who asked before and now accepts stays one job with one story."""

from collections.abc import Callable

from estimating.models import Quote
from estimating.services.quotes import quote_accept
from shop.models import Job, JobState, Member
from shop.services.enquiries import enquiry_open
from shop.services.job_state import job_move
from tests.factories import NOW


def test_the_open_enquiry_becomes_the_job(quoted: Callable[..., Quote], owner: Member) -> None:
    quote = quoted()
    asked = enquiry_open(
        customer=quote.customer, vehicle=quote.vehicle, title="Asked", member=owner, now=NOW
    )
    job = quote_accept(quote=quote, member=owner, now=NOW)
    assert job.pk == asked.pk
    assert (job.state, job.price, job.title) == (JobState.QUOTED, quote.price, quote.title)
    assert [event.to_state for event in job.events.filter(kind="state")] == ["enquiry", "quoted"]


def test_an_enquiry_that_is_over_is_left_alone(quoted: Callable[..., Quote], owner: Member) -> None:
    quote = quoted()
    over = enquiry_open(
        customer=quote.customer, vehicle=quote.vehicle, title="Asked", member=owner, now=NOW
    )
    job_move(job=over, to=JobState.CANCELLED, now=NOW, member=owner)
    job = quote_accept(quote=quote, member=owner, now=NOW)
    assert job.pk != over.pk
    assert Job.objects.get(pk=over.pk).state == JobState.CANCELLED
