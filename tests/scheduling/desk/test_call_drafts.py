"""A call under way is one row: kept in turn, in one person's hands, cleared in time."""

from datetime import timedelta
from uuid import uuid4

import pytest
from django.db import IntegrityError, transaction

from scheduling.models import CallDraft, CallState
from scheduling.services.drafts import (
    draft_bring_back,
    draft_discard,
    draft_finish,
    draft_keep,
    draft_take_over,
    drafts_clear,
)
from shop.refusals import Conflict
from tests import factories as make
from tests.factories import NOW

pytestmark = pytest.mark.django_db
KEY = uuid4()


@pytest.fixture
def ada():
    return make.FrontDeskFactory()


@pytest.fixture
def bo(ada):
    return make.FrontDeskFactory(shop=ada.shop)


def keep(member, name="Rosa", turn=1, page="a", now=NOW, **more):
    said = {"form": {"name": [name]}, "title": name}
    return draft_keep(member=member, key=KEY, turn=turn, page=page, now=now, **said, **more)


def kept():
    return CallDraft.objects.get(key=KEY)


def test_every_change_is_written_to_one_row(ada):
    assert keep(ada, "Ro")
    assert keep(ada, "Rosa", turn=2)
    assert (kept().form, kept().title, kept().member) == ({"name": ["Rosa"]}, "Rosa", ada)


def test_a_change_that_was_overtaken_changes_nothing(ada):
    keep(ada, "Rosa Venn", turn=3)
    assert keep(ada, "Ro", turn=2)
    assert kept().title == "Rosa Venn"


def test_another_window_is_told_that_the_call_went_on(ada):
    keep(ada, turn=3)
    with pytest.raises(Conflict, match="another window"):
        keep(ada, "Ro", turn=2, page="b")


def test_nothing_said_begins_nothing(ada):
    assert not keep(ada, begin=False)
    assert not CallDraft.objects.exists()


def test_only_who_has_the_call_in_hand_changes_it(ada, bo):
    keep(ada)
    with pytest.raises(Conflict, match=f"{ada.name} has this call in hand"):
        keep(bo, "Bo was here", turn=2)
    draft_take_over(draft=kept(), member=bo, now=NOW)
    with pytest.raises(Conflict, match=bo.name):
        keep(ada, "Rosa V", turn=2)
    assert keep(bo, "Rosa Venn", turn=2, page="c")
    assert kept().title == "Rosa Venn"


def test_another_shop_neither_reads_nor_writes_it(ada):
    keep(ada)
    stranger = make.FrontDeskFactory()
    with pytest.raises(Conflict):
        keep(stranger, "Stolen", turn=9)
    with pytest.raises(Conflict):
        draft_take_over(draft=kept(), member=stranger, now=NOW)
    assert (kept().title, kept().member) == ("Rosa", ada)


def test_a_discarded_call_comes_back_as_it_was(ada, bo):
    keep(ada)
    with pytest.raises(Conflict, match="take it over first"):
        draft_discard(draft=kept(), member=bo, now=NOW)
    draft_discard(draft=kept(), member=ada, now=NOW)
    with pytest.raises(Conflict, match="discarded"):
        keep(ada, "Rosa V", turn=2)
    draft_bring_back(draft=kept(), member=ada, now=NOW)
    assert (kept().state, kept().form) == (CallState.OPEN, {"name": ["Rosa"]})
    assert keep(ada, "Rosa V", turn=2)


def test_a_finished_call_is_not_brought_back(ada):
    keep(ada)
    draft_finish(member=ada, key=KEY, now=NOW)
    with pytest.raises(Conflict, match="finished"):
        draft_bring_back(draft=kept(), member=ada, now=NOW)


def test_what_is_pasted_into_a_field_has_a_limit(ada):
    keep(ada, "x" * 100_000)
    assert (len(kept().form["name"][0]), len(kept().title)) == (400, 120)


@pytest.mark.parametrize(
    ("state", "days", "left"),
    [("open", 29, 1), ("open", 31, 0), ("discarded", 0.9, 1), ("discarded", 1.1, 0)],
)
def test_the_clock_clears_what_nobody_goes_on_with(ada, state, days, left):
    keep(ada)
    CallDraft.objects.update(state=state)
    drafts_clear(now=NOW + timedelta(days=days))
    assert CallDraft.objects.count() == left


@pytest.mark.parametrize("wrong", [{"state": "odd"}, {"state": "open", "job": True}])
def test_the_database_refuses(ada, wrong):
    keep(ada)
    if "job" in wrong:
        wrong = {**wrong, "job": make.JobFactory(shop=ada.shop)}
    with pytest.raises(IntegrityError), transaction.atomic():
        CallDraft.objects.update(**wrong)
