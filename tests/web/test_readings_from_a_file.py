"""Readings come in as a file or a pasted column; what is wrong is named by line, and waits."""

import pytest
from django.core.files.uploadedfile import SimpleUploadedFile
from django.urls import reverse

from estimating.models import PanelFinding

TABLE = (
    "panel,spot,reading\nhood,1,4.3\nhood,1,4.2\nhood,1,4.3\nRoof,1,4.6\nroof,1,4.6\nroof,1,4.7\n"
)


@pytest.fixture
def url(world):
    return reverse("readings_in", args=[world.inspection.pk])


def spots(world):
    return dict(
        PanelFinding.objects.filter(inspection=world.inspection).values_list("panel", "spots")
    )


@pytest.mark.parametrize(
    "data",
    [
        TABLE.encode(),
        TABLE.encode("utf-16"),
        TABLE.replace(",", ";").replace(".", ",").encode("utf-8-sig"),
        TABLE.replace(",", "\t").encode(),
    ],
    ids=["comma", "utf-16", "semicolon and decimal comma", "tab"],
)
def test_a_file_adds_its_panels_to_the_sheet(world, url, data):
    file = SimpleUploadedFile("export.csv", data)
    assert world.client("tech").post(url, {"file": file}).status_code == 302
    found = spots(world)
    assert (found["hood"], found["roof"]) == ([[4.3, 4.2, 4.3]], [[4.6, 4.6, 4.7]])
    assert found["front_left_fender"] == [[4.3, 4.2, 4.3], [4.4, 4.4, 4.5]]
    assert world.inspection.panels.get(panel="front_left_fender").defects.count() == 1


def test_another_unit_is_turned_into_that_of_the_sheet(world, url):
    text = "panel,spot,reading,unit\n" + "hood,1,127,µm\n" * 3
    world.client("tech").post(url, {"text": text})
    assert spots(world)["hood"] == [[5.0, 5.0, 5.0]]


@pytest.mark.parametrize(("replace", "count"), [("no", 3), ("yes", 1)])
def test_readings_that_stand_there_stay_unless_said(world, url, replace, count):
    text = "panel,spot,reading\n" + "front left fender,1,4.1\n" * 3
    world.client("tech").post(url, {"text": text, "replace": replace})
    assert len(spots(world)["front_left_fender"]) == count


def test_a_bare_column_is_laid_along_the_walk(world, url):
    column = "\n".join(["4.3", "4.2", "4.3", "4.4", "4.4", "4.5", "4.6", "4.6", "4.7"])
    world.client("tech").post(url, {"text": column, "first": "front_left_door", "spots": "2"})
    found = spots(world)
    assert found["front_left_door"] == [[4.3, 4.2, 4.3], [4.4, 4.4, 4.5]]
    assert [[4.6, 4.6, 4.7]] in found.values()


@pytest.mark.parametrize(
    ("text", "said"),
    [
        (TABLE.replace("hood,1,4.2", "bonnet,1,4.2"), "Line 3, panel: “bonnet”. No panel"),
        (TABLE.replace("hood,1,4.2", "hood,one,4.2"), "Line 3, spot: “one”. Number the spots"),
        (TABLE.replace("hood,1,4.2", "hood,1,x"), "Line 3, reading: “x”. Give a reading above 0"),
        (TABLE.replace("hood,1,4.2", "hood,1,-4"), "Line 3, reading: “-4”."),
        (TABLE.replace("hood,1,4.2\n", ""), "Line 2, spot: “1”. The spot that begins here has 2"),
        (TABLE.replace("hood,1,4.2", "hood,4.2"), "Line 3, reading: “hood,4.2”. Give 3 columns"),
        ("panel,reading\nhood,4.2", "Line 1, panel: “panel,reading”. Name the columns"),
        ("panel,spot,reading,unit\nhood,1,4,in", "Line 2, unit: “in”. Use mil or um."),
        ("4.3\n4.2\n", "Line 2, reading: “4.2”. 2 readings make no whole spots"),
        ("4.3\nlow\n4.2", "Line 2, reading: “low”."),
        ("", "Paste readings"),
    ],
)
def test_what_is_wrong_is_named_and_nothing_is_lost(world, url, text, said):
    before = spots(world)
    answer = world.client("tech").post(url, {"text": text})
    assert answer.status_code == 400
    assert said in answer.context["problems"][0]
    assert answer.context["given"]["text"] == text
    assert spots(world) == before


def test_a_file_of_another_shop_reaches_nothing(world, url):
    before = spots(world)
    found = {
        who: world.client(who).post(url, {"text": TABLE}).status_code
        for who in ("outsider", "tech")
    }
    assert found == {"outsider": 404, "tech": 302}
    assert spots(world) != before


def test_the_sheet_is_saved_on_the_way_to_the_file(world):
    new = reverse("inspection_new", args=[world.vehicle.pk])
    typed = {"unit": "mil", "hood-readings": "4.3 4.2 4.3", "hood-substrate": "steel"}
    answer = world.client("tech").post(new, {**typed, "save": "readings"})
    assert answer.headers["Location"].endswith("/readings/")
