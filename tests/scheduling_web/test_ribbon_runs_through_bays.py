"""A vehicle is one ribbon: pieces by bay, joined where it is driven over."""

from datetime import UTC, date, datetime, time, timedelta

from scheduling.web.ribbons import Picture, Stay, Stretch, Visit, picture_make
from scheduling.web.rows import Times, Unit, rows_of
from scheduling.web.timeaxis import axis_make

DAY = date(2026, 3, 2)
UNITS = [Unit(1, "lamp", "Lamp"), Unit(2, "bay", "Wash"), Unit(3, "bay", "Coating")]


def at(hours: float) -> datetime:
    return datetime.combine(DAY, time(0), tzinfo=UTC) + timedelta(hours=hours)


def picture(*stays: Stay, stretches: tuple[Stretch, ...] = (), **more: object) -> Picture:
    # Without opening hours the axis is even: an hour of a day is 100/24 percent.
    axis = axis_make(first_day=DAY, days=1, zone=UTC, hours={})
    visit = Visit(7, "J-0007", "van, white", "booked", stays, stretches, promised_at=at(18))
    return picture_make(
        axis=axis,
        units=UNITS,
        visits=[visit],
        times=Times({1: [(at(6), at(18))]}, {1: [(at(12), at(15)), (at(23), at(30))]}),
        now=at(6),
    )


def test_rows_stand_in_the_order_of_the_shop_with_lamps_below_bays() -> None:
    assert [row.unit.name for row in rows_of(UNITS)] == ["Wash", "Coating", "Lamp"]


def test_pieces_are_joined_where_the_vehicle_is_driven() -> None:
    [ribbon] = picture(Stay(3, at(12), at(30)), Stay(2, at(6), at(12))).ribbons
    wash, coating = ribbon.pieces
    assert (wash.x, wash.width) == ("25.000%", "25.000%")
    assert (coating.x, coating.width) == ("50.000%", "50.000%")
    assert (wash.goes_on_right, coating.goes_on_right) == (False, True)
    [link] = ribbon.links
    assert (link.x1, link.x2) == ("50.000%", "50.000%")
    assert link.y1 < link.y2
    assert ribbon.flag is not None
    assert ribbon.flag.x == "75.000%"


def test_work_is_drawn_in_the_bay_in_which_it_is_done() -> None:
    work = Stretch("cure", "Cure", "planned", at(9), at(18))
    [ribbon] = picture(Stay(2, at(6), at(12)), Stay(3, at(12), at(24)), stretches=(work,)).ribbons
    [[before], [after]] = [piece.blocks for piece in ribbon.pieces]
    assert (before.x, before.width, before.pattern) == ("50.000%", "50.000%", "cure")
    assert (after.x, after.width) == ("0.000%", "50.000%")


def test_a_vehicle_of_another_day_is_not_drawn() -> None:
    assert not picture(Stay(2, at(24), at(30))).ribbons


def test_load_is_the_share_of_what_can_be_had_on_the_days_shown() -> None:
    drawn = picture()
    # Of twelve hours three are taken, and one of the seven that run past midnight.
    assert drawn.loads[0].percent == 33
    assert drawn.now_x == "25.000%"
