"""A cold panel opens the window for the next layer later, by the ten-degree rule."""

from datetime import timedelta

import pytest

from scheduling.models import Reminder, ReminderPurpose
from scheduling.services.climate import climate_log
from scheduling.services.cures import CureFigures
from tests.factories import NOW
from tests.scheduling.reminders.test_recoat_window import first_layer_done

pytestmark = pytest.mark.django_db
MINUTE = timedelta(minutes=1)


def window(small):
    rows = Reminder.objects.filter(member=small.tech, purpose=ReminderPurpose.RECOAT_OPEN)
    row = rows.get()
    return row.due_at, row.expires_at


def test_ten_degrees_colder_takes_twice_as_long(monkeypatch):
    figures = CureFigures("Any", 20.0, 2.0, 12, 300, 100)
    monkeypatch.setattr("scheduling.services.recoat.coating_figures", lambda _job: figures)
    small, _second = first_layer_done()
    done = NOW + 30 * MINUTE
    assert window(small) == (done + 60 * MINUTE, done + 240 * MINUTE)
    for minutes in (0, 60):
        climate_log(
            resource=small.coating,
            at=done + minutes * MINUTE,
            air_c=10,
            humidity_percent=50,
            surface_c=10,
        )
    # After an hour at 10 °C half of the hour at 20 °C is done; the rest at the assumed 20 °C.
    assert window(small) == (done + 90 * MINUTE, done + 270 * MINUTE)
