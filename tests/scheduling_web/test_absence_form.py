"""Somebody is noted as away on the calendar; what cannot be done then is at risk."""

from django.urls import reverse

from scheduling.models import Absence

ADDRESS = reverse("absence_add")


def values(world, **changes):
    return {
        "resource": world.small.crew.pk,
        "start": "2026-03-02T09:00",
        "end": "2026-03-03T17:00",
        "reason": "Sick",
        **changes,
    }


def test_what_is_planned_meanwhile_is_at_risk_and_can_be_mended(world, desk, text) -> None:
    job = world.booked()
    query = "?view=fortnight&day=2026-03-02"
    answer = desk.post(ADDRESS + query, values(world))
    assert answer["Location"] == reverse("calendar") + query
    seen = text(desk.get(answer["Location"]))
    assert "is away today 9:00 to tomorrow 17:00." in seen
    assert f'× Cannot be done as planned:</span> <a href="/jobs/{job.pk}/">' in seen
    assert "(Sick)" in seen
    assert "Mend this" in seen


def test_a_refused_form_keeps_what_was_typed_beside_the_calendar(world, desk, text) -> None:
    job = world.booked()
    wrong = desk.post(ADDRESS, values(world, end="2026-03-02T08:00"))
    assert wrong.status_code == 400
    seen = text(wrong)
    assert "Must be after the beginning." in seen
    assert 'value="Sick"' in seen
    assert job.number in seen
    assert not Absence.objects.exists()


def test_whoever_is_back_is_there_again(world, desk, text) -> None:
    desk.post(ADDRESS, values(world))
    key = Absence.objects.get().pk
    seen = text(desk.post(reverse("absence_end", args=[key]), follow=True))
    assert "is there again." in seen
    assert not Absence.objects.exists()


def test_the_technician_is_not_asked(world, tech, text) -> None:
    world.booked()
    assert ADDRESS not in text(tech.get(reverse("calendar")))
