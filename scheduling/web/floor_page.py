"""The floor's cards: what stands in each bay, the work in hand, and what a tap does."""

from __future__ import annotations

from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass
from datetime import datetime, timedelta
from decimal import Decimal
from typing import Final

from django.urls import reverse
from django.utils.translation import gettext as _

from scheduling.models import Capability, Hold, Resource
from scheduling.selectors.floor import BayCard, Climate, CrewCard, Floor, Standing
from scheduling.selectors.floor_detail import MaterialInHand
from scheduling.web.cautions import Caution, caution_for
from scheduling.web.forms import ClimateForm
from scheduling.web.story_lines import amount, plain
from scheduling.web.work_shown import WorkShown, work_shown
from shop.models import Attendance, JobState, Member, Operation, OperationKind, OperationState
from shop.web import show

# A tap takes about a quarter of what was planned, as a round figure.
TAPS_OF_PLAN: Final = 4
ROUND_STEPS: Final = (Decimal(1), Decimal(2), Decimal(5), Decimal(10))


@dataclass(frozen=True)
class Tap:
    """A button: where it posts, what it says; ``id`` keeps the focus over a refresh."""

    id: str
    url: str
    label: str
    main: bool = False


@dataclass(frozen=True)
class MaterialTap:
    """A button that logs a portion of one item."""

    id: str
    url: str
    consumable: int
    portion: str
    portion_text: str
    name: str
    used_text: str


@dataclass(frozen=True)
class ClimateShown:
    """The last reading of a bay; judged only where coating is done."""

    read: Climate
    word: str
    kind: str
    reason: str


@dataclass(frozen=True)
class Card:
    """One bay, or one vehicle outside of the bays that still has work to be done."""

    key: str
    place: str
    bay: Resource | None
    standing: Standing | None
    work: WorkShown | None
    taps: tuple[Tap, ...]
    caution: Caution | None
    materials: tuple[MaterialTap, ...]
    cure_left: str
    expected: Hold | None
    climate: ClimateShown | None
    climate_form: ClimateForm | None
    mine: bool
    note: str = ""


def in_hand(standing: Standing) -> Operation | None:
    """Return the operation that is being done, or would be next."""
    return standing.running[0] if standing.running else standing.next


def everything_standing(floor: Floor) -> list[Standing]:
    """Every vehicle that is here."""
    places = (*floor.bays, *floor.parking)
    return [card.standing for card in places if card.standing] + list(floor.elsewhere)


class Cards:
    """Makes the cards of one floor for one person."""

    def __init__(
        self,
        floor: Floor,
        member: Member,
        materials: Mapping[int, Sequence[MaterialInHand]],
        climate_forms: Mapping[int, ClimateForm],
    ) -> None:
        self.floor, self.member, self.materials = floor, member, materials
        self.climate_forms = climate_forms
        self.now, self.tz = floor.now, member.shop.tz
        self.crew = next((c for c in floor.crew if c.resource.member_id == member.pk), None)
        self.my_jobs = _jobs_of(self.crew)

    def all(self) -> list[Card]:
        """Return the cards: a technician's own work first, then bays as they stand."""
        cards = [self._bay(card) for card in self.floor.bays]
        cards += [
            self._outside(one, _("No place is kept any more"), _("outside its plan"))
            for one in self.floor.elsewhere
            if self._to_do(one)
        ]
        cards += [
            self._outside(card.standing, card.resource.name)
            for card in self.floor.parking
            if card.standing is not None and self._to_do(card.standing)
        ]
        return sorted(cards, key=lambda card: not card.mine)

    def waiting(self) -> list[tuple[Standing, str]]:
        """Vehicles outside of the bays on which nobody has to work today."""
        places = [(card.standing, card.resource.name) for card in self.floor.parking]
        places += [(one, _("no place kept")) for one in self.floor.elsewhere]
        return [(one, place) for one, place in places if one is not None and not self._to_do(one)]

    def _to_do(self, standing: Standing) -> bool:
        """Whether somebody has to work on it today."""
        work = in_hand(standing)
        if work is None or work.attendance == Attendance.UNATTENDED:
            return False
        if work.state != OperationState.PLANNED or work.planned_start is None:
            return True
        today = self.now.astimezone(self.tz).date()
        return work.planned_start.astimezone(self.tz).date() <= today

    def _bay(self, card: BayCard) -> Card:
        return self._card(
            key=f"bay-{card.resource.pk}",
            place=card.resource.name,
            standing=card.standing,
            bay=card.resource,
            expected=card.expected,
            climate=climate_shown(card.resource, card.climate),
            climate_form=self.climate_forms.get(card.resource.pk)
            or ClimateForm(prefix=f"bay-{card.resource.pk}"),
        )

    def _outside(self, standing: Standing, place: str, note: str = "") -> Card:
        return self._card(key=f"job-{standing.job.pk}", place=place, standing=standing, note=note)

    def _card(
        self,
        *,
        key: str,
        place: str,
        standing: Standing | None,
        bay: Resource | None = None,
        expected: Hold | None = None,
        climate: ClimateShown | None = None,
        climate_form: ClimateForm | None = None,
        note: str = "",
    ) -> Card:
        operation = in_hand(standing) if standing else None
        return Card(
            key=key,
            place=place,
            bay=bay,
            standing=standing,
            work=work_shown(operation, self.now, self.tz) if operation else None,
            taps=self._taps(standing, operation) if standing and operation else (),
            caution=caution_for(operation.kind) if operation else None,
            materials=self._material_taps(standing, operation),
            cure_left=_cure_left(standing, self.now),
            expected=expected,
            climate=climate,
            climate_form=climate_form,
            mine=standing is not None and standing.job.pk in self.my_jobs,
            note=note,
        )

    def _taps(self, standing: Standing, operation: Operation) -> tuple[Tap, ...]:
        if operation.kind == OperationKind.CURE:
            return _lamp_taps(standing, operation)
        here = any(one.member.pk == self.member.pk for one in standing.at_work)
        state = operation.state
        if state == OperationState.PLANNED:
            return (_tap(operation, "start", _("Start"), main=True),)
        finish = _tap(operation, "finish", _("Finish"), main=here)
        if state == OperationState.PAUSED:
            return (_tap(operation, "start", _("Go on"), main=True), finish)
        taps = [] if here else [_tap(operation, "start", _("Join in"))]
        if operation.attendance == Attendance.PAUSABLE:
            taps.append(_tap(operation, "pause", _("Pause")))
        return (*taps, finish)

    def _material_taps(
        self, standing: Standing | None, operation: Operation | None
    ) -> tuple[MaterialTap, ...]:
        if standing is None or operation is None:
            return ()
        url = reverse("floor_take", args=[operation.pk])
        return tuple(
            _material_tap(item, url, operation) for item in self.materials.get(standing.job.pk, ())
        )


def climate_shown(bay: Resource, read: Climate | None) -> ClimateShown | None:
    """Return a reading with its verdict in a word, which only a coating bay gets."""
    if read is None:
        return None
    if read.stale:
        return ClimateShown(read, _("old reading"), "watch", "")
    if Capability.COATING not in bay.capabilities:
        return ClimateShown(read, "", "", "")
    if read.verdict.allowed:
        return ClimateShown(read, _("fit for coating"), "good", "")
    return ClimateShown(read, _("not for coating"), "stop", "; ".join(read.verdict.reasons))


def portion_of(planned: Decimal) -> Decimal:
    """Return what one tap logs of an item of which ``planned`` is expected to be used.

    About a quarter, rounded to 1, 2 or 5 times a power of ten; of a few pieces, one.
    """
    wanted = planned / TAPS_OF_PLAN
    if planned == planned.to_integral_value() and wanted < 1:
        return Decimal(1)
    power = Decimal(10) ** (wanted.adjusted())
    return min((step * power for step in ROUND_STEPS), key=lambda step: abs(step - wanted))


def _jobs_of(crew: CrewCard | None) -> frozenset[int]:
    """Jobs on which a person works or is kept for now."""
    if crew is None:
        return frozenset()
    jobs = {crew.working.operation.job_id} if crew.working else set()
    if crew.now is not None:
        jobs.add(crew.now.booked_job_id)
    return frozenset(jobs)


def _lamp_taps(standing: Standing, operation: Operation) -> tuple[Tap, ...]:
    """The lamp over a panel that cures."""
    if standing.cure is None or standing.job.state != JobState.CURING:
        return ()
    if standing.cure.lamp_on:
        return (_tap(operation, "lamp-off", _("Lamp off"), main=True),)
    return (_tap(operation, "lamp-on", _("Lamp on")),)


def _tap(operation: Operation, step: str, label: str, main: bool = False) -> Tap:
    url = reverse("floor_work", args=[operation.pk, step])
    return Tap(f"{step}-{operation.pk}", url, label, main)


def _material_tap(item: MaterialInHand, url: str, operation: Operation) -> MaterialTap:
    portion = plain(portion_of(item.planned))
    unit = item.consumable.unit
    words = {"used": amount(item.used), "unit": unit}
    words["planned"] = amount(item.planned)
    return MaterialTap(
        id=f"take-{operation.pk}-{item.consumable.pk}",
        url=url,
        consumable=item.consumable.pk,
        portion=portion,
        portion_text=f"{portion} {unit}",
        name=item.consumable.name,
        used_text=_("%(used)s of %(planned)s %(unit)s") % words,
    )


def _cure_left(standing: Standing | None, now: datetime) -> str:
    if standing is None or standing.cure is None or standing.job.state != JobState.CURING:
        return ""
    left = max(timedelta(), standing.cure.cure.forecast_handover_at - now)
    return show.minutes_text(left / timedelta(minutes=1))


def operations_of(standings: Iterable[Standing]) -> list[Operation]:
    """Return the operation in hand of each vehicle that has one."""
    return [operation for one in standings if (operation := in_hand(one)) is not None]
