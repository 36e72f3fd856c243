"""A test spot and protection film are entered on the sheet, and change the plan."""

import pytest
from django.urls import reverse

from estimating.models import Inspection

PANEL = "front_left_fender"
TYPED = {
    "unit": "mil",
    "cleared": "60",
    f"{PANEL}-substrate": "steel",
    f"{PANEL}-readings": "4.3 4.2 4.3 / 4.4 4.4 4.5",
    f"{PANEL}-0-kind": "swirl_marks",
    f"{PANEL}-0-severity": "moderate",
    f"{PANEL}-0-amount": "60",
    f"{PANEL}-more": "1",
    f"{PANEL}-trial-level": "single",
    f"{PANEL}-trial-before": "4.4 4.4 4.4",
    f"{PANEL}-trial-after": "4.2 4.2 4.2",
    f"{PANEL}-trial-cleared": "70",
    "save": "yes",
}


@pytest.fixture
def new(world):
    return reverse("inspection_new", args=[world.vehicle.pk])


def test_it_is_kept_as_entered_and_shown_again(world, new, text):
    tech = world.client("tech")
    assert tech.post(new, {**TYPED, f"{PANEL}-covered": "on"}).status_code == 302
    made = Inspection.objects.latest("pk")
    kept = made.panels.get()
    assert kept.covered is True
    assert kept.test_spot == {
        "level": "single", "before": [[4.4] * 3], "after": [[4.2] * 3], "cleared": 0.7,
    }  # fmt: skip
    shown = text(tech.get(reverse("inspection", args=[made.pk])))
    assert f'name="{PANEL}-trial-after" value="4.2 4.2 4.2"' in shown
    assert f'name="{PANEL}-covered" checked' in shown


def test_emptied_fields_take_it_away_again(world, new):
    tech = world.client("tech")
    tech.post(new, {**TYPED, f"{PANEL}-covered": "on"})
    made = Inspection.objects.latest("pk")
    emptied = {name: "" if "trial" in name else value for name, value in TYPED.items()}
    url = reverse("inspection", args=[made.pk])
    assert tech.post(url, {**emptied, "version": "1"}).status_code == 302
    assert (made.panels.get().test_spot, made.panels.get().covered) == (None, None)


def test_what_the_spot_taught_is_in_the_live_answer(world, new):
    """Two stages by the tables; a single one took 0.2 mil here and cleared 70 %: it is enough."""
    tech = world.client("tech")
    htmx = {"HX-Request": "true"}
    without = {name: value for name, value in TYPED.items() if "trial" not in name}
    before = tech.post(new, without, headers=htmx).context["estimate"].panels[0]
    after = tech.post(new, TYPED, headers=htmx).context["estimate"].panels[0]
    assert (before.level, after.level) == ("two", "single")


def test_readings_on_protection_film_are_not_taken_for_paint(world, new):
    typed = {**TYPED, f"{PANEL}-covered": "on"}
    tech = world.client("tech")
    found = [
        tech.post(new, form, headers={"HX-Request": "true"}).context["estimate"].panels[0]
        for form in (TYPED, typed)
    ]
    assert [plan.condition for plan in found] == ["original", "unreadable"]


@pytest.mark.parametrize(
    ("field", "value", "said"),
    [
        ("level", "", "Say which level was tried"),
        ("before", "", "before: take at least one spot"),
        ("after", "4.2 oops", "“oops” is no reading"),
        ("after", "4.2 4.2", "2 readings"),
        ("cleared", "most", "“most” is no share"),
    ],
)
def test_a_wrong_test_spot_is_named_at_its_panel(world, new, text, field, value, said):
    before = Inspection.objects.count()
    answer = world.client("tech").post(new, {**TYPED, f"{PANEL}-trial-{field}": value})
    assert answer.status_code == 400
    assert said in text(answer).split(f'id="{PANEL}-trial_error"')[1].split("</ul>")[0]
    assert Inspection.objects.count() == before
