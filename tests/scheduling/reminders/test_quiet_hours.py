"""Quiet hours end at the right moment, also where they do not run over midnight."""

from datetime import UTC, datetime, time
from zoneinfo import ZoneInfo

import pytest

from scheduling.services.quiet import after_quiet, is_quiet

CHICAGO = ZoneInfo("America/Chicago")
NIGHT = (time(21), time(8))


@pytest.mark.parametrize(
    ("clock", "quiet"),
    [
        (time(20, 59), False),
        (time(21), True),
        (time(3), True),
        (time(7, 59), True),
        (time(8), False),
    ],
)
def test_over_midnight(clock, quiet):
    assert is_quiet(clock, *NIGHT) is quiet


def test_within_a_day_and_not_at_all():
    assert is_quiet(time(13), time(12), time(14))
    assert not is_quiet(time(14), time(12), time(14))
    assert not is_quiet(time(3), time(8), time(8))


@pytest.mark.parametrize(
    ("at", "sent"),
    [
        # 22:00 the evening before and 03:00 the same day both wait for 08:00.
        ("2026-03-03T04:00", "2026-03-03T14:00"),
        ("2026-03-03T09:00", "2026-03-03T14:00"),
        # Noon goes out at once.
        ("2026-03-03T18:00", "2026-03-03T18:00"),
        # The night of the change to daylight-saving time (8 March 2026): 08:00 is 13:00 UTC.
        ("2026-03-08T05:00", "2026-03-08T13:00"),
    ],
)
def test_the_night_waits_for_the_morning(at, sent):
    moment = datetime.fromisoformat(at).replace(tzinfo=UTC)
    assert after_quiet(moment, *NIGHT, CHICAGO) == datetime.fromisoformat(sent).replace(tzinfo=UTC)


def test_an_end_that_the_spring_change_skips_is_the_end_of_the_change():
    # 02:30 does not exist in Chicago on 8 March 2026; 03:00 is the first moment after.
    moment = datetime(2026, 3, 8, 7, 0, tzinfo=UTC)
    assert after_quiet(moment, time(0), time(2, 30), CHICAGO) == datetime(
        2026, 3, 8, 8, 0, tzinfo=UTC
    )
