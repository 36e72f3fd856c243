"""A document in, an estimate out: the same as the service gives, or a refusal by path."""

import copy

import pytest

from estimating.core.formats import write_estimate
from estimating.core.options import Options
from estimating.models import Quote
from estimating.services.estimates import estimate_make
from tests import factories as make
from tests.factories import TODAY, document, fender

PATH = "/api/estimates/"


@pytest.fixture
def desk(db):
    return make.FrontDeskFactory(shop=make.stocked_shop())


def test_the_answer_is_the_services(desk, client_of):
    answer = client_of(desk).post(PATH, document())
    assert answer.status_code == 200
    expected = estimate_make(shop=desk.shop, document=document(), day=TODAY)
    assert answer.json()["price"] == write_estimate(expected)["price"]
    assert not Quote.objects.exists()


def test_options_come_in_the_query(desk, client_of):
    client = client_of(desk)
    plain = client.post(f"{PATH}?wash=", document()).json()
    washed = client.post(PATH, document()).json()
    assert plain["hours"]["p50"] < washed["hours"]["p50"]
    expected = estimate_make(
        shop=desk.shop, document=document(), options=Options(wash=None), day=TODAY
    )
    assert plain["price"] == write_estimate(expected)["price"]


@pytest.mark.parametrize(
    ("query", "field"), [("?coatng=x", "coatng"), ("?add_ons=nothing", ""), ("?wash=huge", "")]
)
def test_options_that_are_not_known_are_refused(desk, client_of, query, field):
    answer = client_of(desk).post(PATH + query, document())
    assert answer.status_code == 400
    assert not field or field in answer.data["errors"]


def broken(change):
    data = copy.deepcopy(document())
    change(data)
    return data


@pytest.mark.parametrize(
    ("change", "path"),
    [
        (lambda data: data.update(format="halfmil-inspection/9"), "$.format"),
        (lambda data: data.update(unit="inch"), "$.unit"),
        (lambda data: data.update(panels=[fender(panel="wing")]), "$.panels[0].panel"),
        (lambda data: data.update(panels=[fender(), fender()]), "$.panels[1].panel"),
        (
            lambda data: data.update(panels=[fender(spots=[[-4.3, 4, 4]])]),
            "$.panels[0].spots[0][0]",
        ),
        (lambda data: data.update(colour="red"), "$.colour"),
    ],
)
def test_a_wrong_document_is_refused_by_path(desk, client_of, change, path):
    answer = client_of(desk).post(PATH, broken(change))
    assert answer.status_code == 400
    assert path in answer.data["errors"]


def test_a_list_is_no_document(desk, client_of):
    answer = client_of(desk).post(PATH, [1])
    assert answer.status_code == 400
    assert "$" in answer.data["errors"]


def test_technicians_do_not_see_the_margin(desk, client_of):
    technician = make.TechnicianFactory(shop=desk.shop)
    assert client_of(technician).post(PATH, document()).status_code == 403
