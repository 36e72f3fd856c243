"""One shared set-up for who may do what, so that a refusal cannot pass by accident."""

from types import SimpleNamespace

import pytest

from tests import factories as make


@pytest.fixture
def people(db):
    """Owner, front desk and technician of one shop; an outsider who owns another."""
    shop = make.ShopFactory()
    return SimpleNamespace(
        shop=shop,
        owner=make.MemberFactory(shop=shop),
        desk=make.FrontDeskFactory(shop=shop),
        technician=make.TechnicianFactory(shop=shop),
        outsider=make.MemberFactory(),
    )
