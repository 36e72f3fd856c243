"""What is ordered beside correction, and who does the work."""

from __future__ import annotations

from dataclasses import dataclass
from typing import TypeVar

from estimating.core.catalogue import Catalogue
from estimating.core.catalogue_rows import AddOn, CoatingLayer, CoatingSystem, Technician, WashSize
from estimating.core.checks import RuleBroken

STANDARD_WASH = "standard"

Row = TypeVar("Row", WashSize, CoatingSystem, AddOn, Technician)


@dataclass(frozen=True, slots=True)
class Options:
    """Choices that are not findings.

    Parameters
    ----------
    wash
        A wash size code, `standard` (by body, if there is any other work) or None.
    coating
        A coating system's code or None.
    add_ons
        Codes of add-ons.
    technician
        Code of a class of technician; None for the catalogue's own times.
    """

    wash: str | None = STANDARD_WASH
    coating: str | None = None
    add_ons: tuple[str, ...] = ()
    technician: str | None = None


@dataclass(frozen=True, slots=True)
class Ordered:
    """Options looked up in a catalogue."""

    wash: WashSize | None
    wash_always: bool
    coating: CoatingSystem | None
    layers: tuple[CoatingLayer, ...]
    add_ons: tuple[AddOn, ...]
    technician: Technician | None


def ordered(options: Options, body: str, catalogue: Catalogue) -> Ordered:
    """Look up the codes of options; RuleBroken names a code that is not there."""
    coating = _find("coating system", options.coating, catalogue.coating_systems)
    add_ons = tuple(_find("add-on", code, catalogue.add_ons) for code in options.add_ons)
    if len(set(options.add_ons)) != len(options.add_ons):
        raise RuleBroken("an add-on may be given once")
    layers = tuple(
        sorted(
            (row for row in catalogue.coating_layers if coating and row.system == coating.code),
            key=lambda row: row.order,
        )
    )
    if coating and not layers:
        raise RuleBroken(f"coating system {coating.code!r} has no layers")
    return Ordered(
        wash=_wash(options.wash, body, catalogue),
        wash_always=options.wash not in (None, STANDARD_WASH),
        coating=coating,
        layers=layers,
        add_ons=tuple(row for row in add_ons if row is not None),
        technician=_find("technician", options.technician, catalogue.technicians),
    )


def _wash(code: str | None, body: str, catalogue: Catalogue) -> WashSize | None:
    if code == STANDARD_WASH:
        return next((row for row in catalogue.wash_sizes if body in row.bodies), None)
    return _find("wash size", code, catalogue.wash_sizes)


def _find(what: str, code: str | None, rows: tuple[Row, ...]) -> Row | None:
    if code is None:
        return None
    for row in rows:
        if row.code == code:
            return row
    known = ", ".join(row.code for row in rows)
    raise RuleBroken(f"{what} must be one of {known}, not {code!r}")
