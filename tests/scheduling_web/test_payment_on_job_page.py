"""A payment is noted at the job page; what is open is what was agreed less what was paid."""

from decimal import Decimal

from django.urls import reverse

from shop.models import Payment


def pay(who, job, **given):
    address = reverse("job_payment", args=[job.pk])
    return who.post(address, {"amount": "100", "method": "card", **given}, follow=True)


def test_what_is_open_falls_by_what_is_paid(world, desk, text) -> None:
    job = world.booked(days=1)
    type(job).objects.filter(pk=job.pk).update(price=Decimal(350))
    assert "250" in text(pay(desk, job)).split("Still open")[1]
    assert "Nothing open" in text(pay(desk, job, amount="250"))


def test_wrong_amounts_are_refused(world, desk, text) -> None:
    job = world.booked(days=1)
    for amount in ("0", "1.005", "many"):
        assert "amount" in text(pay(desk, job, amount=amount)).lower()
    assert not Payment.objects.exists()


def test_a_technician_takes_no_money(world, tech) -> None:
    job = world.booked(days=1)
    assert pay(tech, job).status_code == 403
