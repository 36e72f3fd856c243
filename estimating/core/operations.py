"""The work of an estimate as an ordered list of blocks for the calendar."""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from dataclasses import dataclass

from estimating.core.catalogue_rows import CoatingLayer, Stage
from estimating.core.hours import Part, Range, part, range_of, total
from estimating.core.materials import stage_quantities
from estimating.core.setting import Setting
from estimating.core.work import Candidate, PanelCase, pass_part

_MINUTES_PER_HOUR = 60.0


@dataclass(frozen=True)
class Operation:
    """One block of work, in the order it is done.

    `minutes` are elapsed minutes with `crew` people at work (unattended where
    `crew` is 0). `lag_min` and `lag_max` are minutes from the end of the block
    before to the start of this one; None for no maximum. `same_spot` means the
    vehicle stays where the block before left it.
    """

    code: str
    name: str
    stage: str
    minutes: Range
    bay: str
    skill: str
    crew: int
    pausable: bool
    lamps: int = 0
    lag_min: int = 0
    lag_max: int | None = None
    same_spot: bool = False
    consumables: tuple[str, ...] = ()

    @property
    def attended(self) -> bool:
        """Whether anybody is at work."""
        return self.crew > 0


def operations(
    cases: Sequence[PanelCase], chosen: Sequence[Candidate], given: Setting
) -> tuple[Operation, ...]:
    """Cut a plan into wash, taping, spot work, passes, wipe, coating and cure."""
    blocks: list[Operation] = []
    ordered, stages = given.ordered, given.stages
    corrected = any(way.parts for way in chosen)
    any_work = corrected or ordered.coating or ordered.add_ons
    if ordered.wash and (any_work or ordered.wash_always):
        minutes = part(ordered.wash.minutes * given.body.wash_factor, ordered.wash.sigma)
        blocks.append(_block("wash", ordered.wash.name, stages["wash"], [minutes], given))
    if corrected:
        blocks += _correction(cases, chosen, given)
    for row in ordered.add_ons:
        minutes = part(row.minutes * given.time_factor, row.sigma)
        blocks.append(
            Operation(
                code=f"add_on_{row.code}",
                name=row.name,
                stage="add_on",
                minutes=_range([minutes], given),
                bay=row.bay,
                skill=row.skill,
                crew=stages["add_on"].crew,
                pausable=stages["add_on"].pausable,
                consumables=tuple(stage_quantities(given.catalogue, row.code, vehicles=1)),
            )
        )
    if corrected or ordered.coating:
        blocks.append(_wipe(cases, chosen, given))
    if ordered.coating:
        area_m2 = sum(case.area_m2 for case in cases)
        blocks += _coating(area_m2, given)
    return tuple(blocks)


def _block(
    code: str,
    name: str,
    stage: Stage,
    parts: Iterable[Part],
    given: Setting,
    consumables: Iterable[str] = (),
) -> Operation:
    used = dict.fromkeys([*consumables, *stage_quantities(given.catalogue, stage.code, 1, 1, 1)])
    return Operation(
        code=code,
        name=name,
        stage=stage.code,
        minutes=_range(parts, given),
        bay=stage.bay,
        skill=stage.skill,
        crew=stage.crew,
        pausable=stage.pausable,
        consumables=tuple(used),
    )


def _range(parts: Iterable[Part], given: Setting) -> Range:
    return range_of(total(parts, given.catalogue.hours.vehicle_correlation))


def _correction(
    cases: Sequence[PanelCase], chosen: Sequence[Candidate], given: Setting
) -> list[Operation]:
    """Taping, spot work, then each pass over the vehicle in turn."""
    pairs = [(case, way) for case, way in zip(cases, chosen, strict=True) if way.level.passes]
    mask = given.stages["mask"]
    area_m2 = sum(case.area_m2 for case, _ in pairs)
    minutes = (mask.minutes + mask.minutes_per_m2 * area_m2) * given.time_factor
    blocks = [_block("mask", mask.name, mask, [part(minutes, mask.sigma)], given)]
    rows = [work for way in chosen for work in way.spots if work.row]
    if rows:
        parts = [
            part(work.row.minutes * work.count * given.time_factor, work.row.sigma)
            for work in rows
            if work.row
        ]
        used = [
            code
            for work in rows
            for code in stage_quantities(given.catalogue, f"spot_{work.method}", count=1)
        ]
        blocks.append(
            _block("spot", given.stages["spot"].name, given.stages["spot"], parts, given, used)
        )
    deepest = max((len(way.level.passes) for _, way in pairs), default=0)
    for index in range(deepest):
        blocks.append(_pass(index, pairs, given))
    return blocks


def _pass(index: int, pairs: Sequence[tuple[PanelCase, Candidate]], given: Setting) -> Operation:
    """The n-th time over the vehicle, on the panels that get that many passes."""
    model = given.catalogue.hours
    parts: list[Part] = []
    names: dict[str, None] = {}
    used: dict[str, None] = {}
    for case, way in pairs:
        if index >= len(way.level.passes):
            continue
        row = way.level.passes[index]
        setup = row.setup_minutes + (model.panel_setup_minutes if index == 0 else 0.0)
        parts.append(part(setup * given.time_factor, model.setup_sigma))
        parts.append(
            pass_part(row.coverage_m2_per_hour, row.sigma, case.area_m2, case.access_factor, given)
        )
        names[row.name] = None
        used |= {row.product: None, row.pad: None}
    name = " / ".join(names)
    stage = given.stages["correction"]
    title = f"Pass {index + 1}: {name}"
    return _block(f"correction_{index + 1}", title, stage, parts, given, used)


def _wipe(cases: Sequence[PanelCase], chosen: Sequence[Candidate], given: Setting) -> Operation:
    stage = given.stages["wipe"]
    area_m2 = sum(
        case.area_m2
        for case, way in zip(cases, chosen, strict=True)
        if way.level.passes or given.ordered.coating
    )
    minutes = (stage.minutes + stage.minutes_per_m2 * area_m2) * given.time_factor
    return _block("wipe", stage.name, stage, [part(minutes, stage.sigma)], given)


def _coating(area_m2: float, given: Setting) -> list[Operation]:
    """Layers with their recoat windows, then the cure that runs through the night."""
    system = given.ordered.coating
    assert system is not None
    blocks: list[Operation] = []
    before: CoatingLayer | None = None
    for layer in given.ordered.layers:
        blocks.append(_layer(layer, before, area_m2, given))
        before = layer
    cure = given.stages["cure"]
    minutes = system.handover_hours * _MINUTES_PER_HOUR
    blocks.append(
        Operation(
            code="cure",
            name=cure.name,
            stage="cure",
            minutes=Range(minutes, minutes, minutes),
            bay=cure.bay,
            skill=cure.skill,
            crew=0,
            pausable=False,
            lag_max=0,
            same_spot=True,
        )
    )
    return blocks


def _layer(
    layer: CoatingLayer, before: CoatingLayer | None, area_m2: float, given: Setting
) -> Operation:
    stage = given.stages["coating"]
    minutes = layer.minutes_per_m2 * area_m2 + (0.0 if before else stage.minutes)
    used = stage_quantities(given.catalogue, "coating", area_m2)
    return Operation(
        code=f"coating_{layer.order}",
        name=layer.name,
        stage="coating",
        minutes=_range([part(minutes * given.time_factor, layer.sigma)], given),
        bay=stage.bay,
        skill=stage.skill,
        crew=layer.crew,
        pausable=stage.pausable,
        lamps=layer.lamps,
        lag_min=before.recoat_least_minutes if before else 0,
        lag_max=before.recoat_most_minutes if before else None,
        same_spot=before is not None,
        consumables=(layer.product, *used),
    )
