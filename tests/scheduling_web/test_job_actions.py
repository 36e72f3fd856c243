"""What is done from a job's page: done and said, or refused at the field with what was typed."""

from django.urls import reverse

from shop.models import JobState, MaterialUse
from tests import factories as make


def address(name: str, job) -> str:
    return reverse(f"job_{name}", args=[job.pk])


def test_a_vehicle_is_checked_in(world, desk, text) -> None:
    job = world.booked()
    answer = desk.post(address("check_in", job), follow=True)
    assert f"{job.number} is checked in." in text(answer)
    job.refresh_from_db()
    assert job.state == JobState.ON_SITE
    again = desk.post(address("check_in", job))
    assert again.status_code == 400
    assert "is on site and cannot become on site" in text(again)


def test_a_cancellation_needs_its_reason(world, desk, text) -> None:
    job = world.booked()
    refused = desk.post(address("cancel", job), {"why": "  "})
    assert refused.status_code == 400
    assert 'aria-invalid="true"' in text(refused)
    job.refresh_from_db()
    assert job.state == JobState.BOOKED
    done = desk.post(address("cancel", job), {"why": "Sold the vehicle"}, follow=True)
    assert "its time is free again" in text(done)
    # The reason stands in the story.
    assert "Sold the vehicle" in text(done)


def test_a_refused_cancellation_keeps_what_was_typed(world, desk, text) -> None:
    job = world.here(world.booked())
    desk.post(reverse("floor_work", args=[job.operations.first().pk, "start"]))
    refused = desk.post(address("cancel", job), {"why": "Wants it back"})
    assert refused.status_code == 400
    assert "work has begun" in text(refused)
    assert 'value="Wants it back"' in text(refused)


def test_material_is_logged_and_stock_falls(world, tech, text) -> None:
    job = world.here(world.booked())
    item = make.ConsumableFactory(shop=world.small.shop, name="Invented compound")
    values = {"consumable": item.pk, "quantity": "12.5"}
    done = tech.post(address("material", job), values, follow=True)
    assert "12.5 ml of Invented compound logged." in text(done)
    assert "Used: Invented compound 12.5 ml" in text(done)
    item.refresh_from_db()
    assert item.on_hand == 2100 - 12.5


def test_an_impossible_quantity_is_refused_at_its_field(world, tech, text) -> None:
    job = world.here(world.booked())
    item = make.ConsumableFactory(shop=world.small.shop)
    for wrong in ("0", "-1", "nan", "lots", ""):
        answer = tech.post(address("material", job), {"consumable": item.pk, "quantity": wrong})
        assert answer.status_code == 400, wrong
        assert 'id="id_quantity_error"' in text(answer)
    assert not MaterialUse.objects.exists()


def test_another_shops_item_is_no_choice(world, tech) -> None:
    job = world.here(world.booked())
    item = make.ConsumableFactory()
    values = {"consumable": item.pk, "quantity": "1"}
    assert tech.post(address("material", job), values).status_code == 400
    assert not MaterialUse.objects.exists()


def test_before_the_cure_only_an_owner_with_a_reason_hands_over(world, owner, desk, text) -> None:
    job = world.work_through(world.here(world.booked(coated=True)))
    assert job.state == JobState.CURING
    front = desk.post(address("hand_over", job), {"reason": "In a hurry"})
    assert front.status_code == 403
    assert "Only an owner may hand it over before" in text(front)
    bare = owner.post(address("hand_over", job))
    assert bare.status_code == 400
    assert "Say why it leaves before" in text(bare)
    job.refresh_from_db()
    assert job.state == JobState.CURING
    done = owner.post(address("hand_over", job), {"reason": "Garaged, will stay dry"}, follow=True)
    assert "is handed over" in text(done)
    assert "Garaged, will stay dry" in text(done)


def test_a_finished_job_shows_actual_beside_estimate(world, owner, text) -> None:
    job = world.work_through(world.here(world.booked()))
    seen = text(owner.get(reverse("job", args=[job.pk])))
    # 30 and 120 minutes at 38.00 an hour.
    assert "$95.00" in seen
    assert "not yet" not in seen
    assert "% less than estimated" in seen
