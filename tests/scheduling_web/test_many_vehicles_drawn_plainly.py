"""With many vehicles a ribbon is drawn with less in it, so that a page stays bounded."""

from datetime import UTC, datetime, timedelta

from scheduling.web.ribbons import MANY_VISITS, Picture, Stay, Stretch, Visit, picture_make
from scheduling.web.rows import Times, Unit
from scheduling.web.timeaxis import axis_make

START = datetime(2026, 3, 2, tzinfo=UTC)


def drawn(number: int) -> Picture:
    axis = axis_make(first_day=START.date(), days=1, zone=UTC, hours={})
    minute = timedelta(minutes=1)
    visits = []
    for k in range(number):
        at = START + k * minute
        work = tuple(
            Stretch(kind, kind, "planned", at + a * minute, at + b * minute)
            for kind, a, b in (("wash", 0, 10), ("mask", 10, 20), ("coating", 20, 60))
        )
        visits.append(Visit(k, f"J-{k}", "van", "booked", (Stay(1, at, at + 60 * minute),), work))
    units = [Unit(1, "bay", "Bay")]
    return picture_make(axis=axis, units=units, visits=visits, times=Times({}, {}), now=START)


def test_few_vehicles_are_drawn_with_all_their_work() -> None:
    picture = drawn(MANY_VISITS)
    assert not picture.plain
    assert [block.name for block in picture.ribbons[0].pieces[0].blocks] == [
        "wash",
        "mask",
        "coating",
    ]


def test_of_many_work_that_looks_alike_is_one_block() -> None:
    picture = drawn(MANY_VISITS + 1)
    assert picture.plain
    wash, coating = picture.ribbons[0].pieces[0].blocks
    # Twenty and forty minutes of a day, across the whole picture.
    assert (wash.x, wash.width, wash.pattern) == ("0.000%", "1.389%", "wash")
    assert (coating.x, coating.width) == ("1.389%", "2.778%")
