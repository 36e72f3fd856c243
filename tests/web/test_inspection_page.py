"""The sheet keeps what was typed, says what is wrong at its field, and works out what is right."""

import pytest
from django.urls import reverse

from estimating.models import Defect, Inspection, PanelFinding

HTMX = {"HX-Request": "true"}
FENDER = {
    "unit": "mil",
    "cleared": "60",
    "front_left_fender-substrate": "steel",
    "front_left_fender-readings": "4.3 4.2 4.3 / 4.4 4.4 4.5",
    "front_left_fender-0-kind": "swirl_marks",
    "front_left_fender-0-severity": "light",
    "front_left_fender-0-amount": "60",
    "save": "yes",
}


@pytest.fixture
def new(world):
    """The address of a new sheet."""
    return reverse("inspection_new", args=[world.vehicle.pk])


@pytest.fixture
def tech(world):
    return world.client("tech")


def test_readings_and_findings_are_kept_as_entered(world, tech, new):
    answer = tech.post(new, {**FENDER, "notes": "door edge chipped", "finished": "on"})
    made = Inspection.objects.latest("pk")
    assert answer.headers["Location"] == reverse("inspection", args=[made.pk])
    panel = made.panels.get()
    assert panel.spots == [[4.3, 4.2, 4.3], [4.4, 4.4, 4.5]]
    assert panel.defects.get().extent == pytest.approx(0.6)
    assert (made.notes, made.finished, made.member) == ("door edge chipped", True, world.small.tech)


@pytest.mark.parametrize(
    ("readings", "said"),
    [
        ("4.3 4.2 four", "“four” is no reading"),
        ("4.3 4.2", "2 readings"),
        ("43000 4.2 4.3", "43000"),
        ("-1 4.2 4.3", "-1"),
    ],
)
def test_a_wrong_reading_is_named_at_its_panel_and_nothing_is_saved(
    world, tech, new, text, readings, said
):
    before = PanelFinding.objects.count()
    answer = tech.post(new, {**FENDER, "front_left_fender-readings": readings})
    page = text(answer)
    assert answer.status_code == 400
    fender = page.split('id="out-front_left_fender"')[1].split("</ul>")[0]
    assert said in fender
    assert f'value="{readings}"' in page
    assert 'value="60"' in page
    assert PanelFinding.objects.count() == before


@pytest.mark.parametrize(
    ("row", "said"),
    [
        (("swirl_marks", "140", ""), "from 0 to 100"),
        (("deep_scratch", "many", ""), "how many"),
        (("deep_scratch", "1", "5.1"), "under the panel around it"),
        (("deep_scratch", "1", "low"), "“low” is no reading"),
    ],
)
def test_a_wrong_finding_is_refused_at_its_row(tech, new, text, row, said):
    before = Defect.objects.count()
    typed = zip(("kind", "amount", "reading"), row, strict=True)
    given = FENDER | {f"front_left_fender-0-{name}": value for name, value in typed}
    answer = tech.post(new, given)
    assert answer.status_code == 400
    assert said in text(answer).split('id="front_left_fender-0_error"')[1].split("</ul>")[0]
    assert Defect.objects.count() == before


def test_two_people_saving_one_sheet_are_told_and_lose_nothing(world, tech, text):
    url = reverse("inspection", args=[world.inspection.pk])
    assert tech.post(url, {**FENDER, "version": "1"}).status_code == 302
    late = world.client("owner").post(url, {**FENDER, "version": "1", "notes": "mine"})
    assert late.status_code == 409
    assert "mine</textarea>" in text(late)
    over = {**FENDER, "version": late.context["newest_version"], "notes": "mine"}
    assert world.client("owner").post(url, over).status_code == 302
    world.inspection.refresh_from_db()
    assert world.inspection.notes == "mine"


def test_while_typing_only_the_pictures_come_back(world, tech, new, text):
    before = Inspection.objects.count()
    piece = tech.post(new, FENDER, headers=HTMX)
    said = text(piece)
    assert 'hx-swap-oob="true"' in said
    assert "<input" not in said
    assert "strip-floor" in said
    assert "Single-stage" in said
    assert Inspection.objects.count() == before


def test_a_panel_still_being_typed_does_not_hide_the_others(tech, new):
    given = {**FENDER, "hood-substrate": "steel", "hood-readings": "3.9"}
    answer = tech.post(new, given, headers=HTMX)
    assert [plan.panel for plan in answer.context["estimate"].panels] == ["front_left_fender"]


def test_a_technician_sees_no_price(world, text):
    url = reverse("inspection", args=[world.inspection.pk])
    assert "Price" in text(world.client("owner").get(url))
    assert "Price" not in text(world.client("tech").get(url))
