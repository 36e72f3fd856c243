"""Each rule of the tables is broken once; the row beside it, which keeps the rule, is taken."""

from datetime import date, timedelta

import pytest
from django.apps import apps
from django.db import IntegrityError, models, transaction

from shop.models import CatalogueRow
from tests import factories as make
from tests.shop.rules import RULES, TWICE

pytestmark = pytest.mark.django_db

DAY = date(2026, 3, 2)


@pytest.mark.parametrize(("rule", "factory", "kept", "broken"), RULES, ids=[r[0] for r in RULES])
def test_checks(rule, factory, kept, broken):
    factory(**kept)
    with pytest.raises(IntegrityError, match=rule), transaction.atomic():
        factory(**broken)


@pytest.mark.parametrize("rule", TWICE)
def test_once(rule):
    constraint = next(c for c in constraints() if c.name == rule)
    with pytest.raises(IntegrityError) as error, transaction.atomic():
        TWICE[rule]()
    # PostgreSQL names the rule, SQLite its columns.
    said = str(error.value)
    assert rule in said or all(f"{name}" in said for name in constraint.fields)


@pytest.mark.parametrize("table", CatalogueRow.__subclasses__(), ids=lambda t: t.__name__)
def test_catalogue_rows_hold_some_time_and_once_from_a_day(table):
    row = table.objects.of(make.stocked_shop()).first()
    row.pk, row.effective_from = None, DAY
    row.save()
    row.pk = None
    with pytest.raises(IntegrityError), transaction.atomic():
        row.save()
    row.pk, row.effective_from, row.effective_to = None, DAY + timedelta(1), DAY + timedelta(1)
    with pytest.raises(IntegrityError, match="holds_some_time"), transaction.atomic():
        row.save()


def constraints():
    for app in ("shop", "estimating", "scheduling"):
        for model in apps.get_app_config(app).get_models():
            yield from model._meta.constraints


def test_no_rule_is_left_out():
    covered = {rule for rule, *_ in RULES} | set(TWICE)
    catalogue = {c.name for t in CatalogueRow.__subclasses__() for c in t._meta.constraints}
    kinds = (models.CheckConstraint, models.UniqueConstraint)
    named = {c.name for c in constraints() if isinstance(c, kinds)}
    assert named - catalogue - covered == set()
