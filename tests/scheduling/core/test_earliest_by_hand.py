"""Earliest fits whose answer can be worked out on paper; times in minutes of one or two days."""

from dataclasses import replace

from scheduling.core.earliest import alternatives, earliest_fit
from scheduling.core.fit import Chain, Fit
from scheduling.core.freeindex import FreeIndex, Lamp, Resources, Technician
from scheduling.core.problem import Mode, Operation, Spot
from scheduling.core.values import Window

DAYS = 7
DAY = 1440
OPENING = tuple((d * DAY + 480, d * DAY + 1080) for d in range(DAYS))  # 08:00 to 18:00
WORK = tuple(
    w
    for d in range(DAYS)
    for w in ((d * DAY + 480, d * DAY + 720), (d * DAY + 750, d * DAY + 1020))
)
SHOP = Resources(
    grid=5,
    horizon=DAYS * DAY,
    spots=(
        Spot("bay", frozenset({"polish"})),
        Spot("booth", frozenset({"coat", "cure"})),
        Spot("lot", park=True),
    ),
    crew=(
        Technician("ana", WORK, frozenset({"polish"})),
        Technician("ben", WORK, frozenset({"coat"})),
    ),
    lamps=(Lamp("ir"),),
    opening=OPENING,
)
POLISH = Operation("polish", "polish", (Mode(300),), crew=1, skill="polish", pausable=True)
COAT = Operation("coat", "coat", (Mode(120),), crew=1, skill="coat", lag_max=60)
CURE = Operation("cure", "cure", (Mode(1440),), same_spot=True, lag_max=0)


def fit(*ops: Operation, busy: dict[str, list[Window]] | None = None) -> Fit:
    return earliest_fit(Chain(ops), FreeIndex(SHOP, busy))


def test_polishing_pauses_for_lunch_and_technician_is_not_held_over_it() -> None:
    answer = fit(POLISH)
    assert (answer.start, answer.end) == (480, 810)  # 300 minutes and half an hour of lunch
    assert answer.ops[0].pieces == ((480, 720), (750, 810))
    held = [(h.resource, h.start, h.end) for h in answer.holds]
    assert held == [("ana", 480, 720), ("bay", 480, 810), ("ana", 750, 810)]


def test_bay_is_held_through_the_night() -> None:
    answer = fit(replace(POLISH, modes=(Mode(600),)))  # 510 minutes a day
    assert (answer.start, answer.end) == (480, DAY + 570)
    assert [(h.start, h.end) for h in answer.holds if h.resource == "bay"] == [(480, DAY + 570)]


def test_work_that_may_not_pause_waits_for_a_long_enough_window() -> None:
    answer = fit(Operation("wipe", "coat", (Mode(250),), crew=1, skill="coat"))
    assert answer.ops[0].start == 750  # the morning has 240 minutes


def test_maximum_lag_steps_back_to_the_operation_before() -> None:
    # ben is taken until 16:00, so polishing, possible at 08:00, must wait as well.
    answer = fit(POLISH, COAT, busy={"ben": [(480, 960)]})
    # 16:00 leaves 60 minutes, so coating is done next day; polishing that ends at 08:05 of that
    # day is the earliest that coating can follow within 60 minutes.
    assert answer.end == DAY + 485 + 120
    polish, coat = answer.ops
    assert 0 <= coat.start - polish.end <= 60


def test_cure_runs_through_the_night_and_pick_up_waits_for_opening() -> None:
    answer = fit(COAT, replace(CURE, modes=(Mode(720),)))
    assert answer.ops[1].end == 600 + 720  # 22:00
    assert answer.end == DAY + 480
    assert [(h.start, h.end) for h in answer.holds if h.resource == "booth"] == [
        (480, 600),
        (600, DAY + 480),
    ]


def test_full_shop_blocks() -> None:
    # Polish is done at 13:30, the booth is taken until 16:00 and so is the lot: the vehicle
    # blocks the bay, which is promised to another from 14:00. So it cannot start before that.
    taken = {"booth": [(480, 960)], "lot": [(480, DAY)], "bay": [(840, 930)]}
    blocked = fit(POLISH, replace(COAT, lag_max=None, modes=(Mode(60),)), busy=taken)
    assert blocked.ops[0].start >= 930
    taken.pop("lot")
    waiting = fit(POLISH, replace(COAT, lag_max=None, modes=(Mode(60),)), busy=taken)
    assert (waiting.ops[0].end, waiting.ops[1].end) == (810, 1020)
    assert waiting.plan_waits() == ("lot",)


def test_into_parking_only_in_opening_hours() -> None:
    # Work goes on until 20:00, the shop closes at 18:00: a cure in a covered parking spot after
    # coating until 19:00 waits in the booth for the next morning.
    late = Technician(
        "eve", tuple((d * DAY + 1020, d * DAY + 1200) for d in range(DAYS)), frozenset({"coat"})
    )
    covered = replace(SHOP.spots[2], id="covered", caps=frozenset({"cure"}))
    booth = replace(SHOP.spots[1], caps=frozenset({"coat"}))
    shop = replace(SHOP, spots=(booth, covered), crew=(late,))
    chain = Chain((replace(COAT, lag_max=None), replace(CURE, same_spot=False, lag_max=None)))
    coat, cure = earliest_fit(chain, FreeIndex(shop)).ops
    assert (coat.end, cure.start) == (1140, DAY + 480)


def test_alternatives_come_on_later_days() -> None:
    index = FreeIndex(SHOP)
    first = earliest_fit(Chain((POLISH,)), index)
    offers = alternatives(Chain((POLISH,)), index, first)
    assert [offer.start // DAY for offer in offers] == [1, 2]


def test_later_week_is_read_without_the_past() -> None:
    answer = earliest_fit(Chain((POLISH,)), FreeIndex(SHOP), not_before=3 * DAY + 100)
    assert answer.start == 3 * DAY + 480
