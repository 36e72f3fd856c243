"""What to mind at the work in hand: short, and never instead of the data sheet.

Usual cautions of the trade (common practice, no source). The two signal words are
those of the product labels; which hazards a product has, and what protects from
them, is said by its own data sheet.
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from typing import Final

from django.utils.functional import Promise
from django.utils.translation import gettext_lazy as _

from shop.models import OperationKind

DANGER: Final = _("Danger")
WARNING: Final = _("Warning")

DEFER: Final = _(
    "Read the product data sheet first. It, local codes and licensed practice come before "
    "anything said here."
)


@dataclass(frozen=True)
class Caution:
    """A hazard, what to wear, what to mind."""

    signal: Promise | str
    hazard: Promise | str
    wear: tuple[Promise | str, ...]
    mind: tuple[Promise | str, ...]


_DATA_SHEET_GLOVES: Final = _("gloves of the kind the data sheet names")

CAUTIONS: Final[Mapping[str, Caution]] = {
    OperationKind.WASH: Caution(
        WARNING,
        _("Wet floor; wheel and fallout cleaners burn skin and eyes."),
        (_DATA_SHEET_GLOVES, _("eye protection"), _("shoes that grip")),
        (
            _("Never mix cleaners."),
            _("Wash water goes where the local code allows, not into the storm drain."),
        ),
    ),
    OperationKind.MASK: Caution(
        WARNING,
        _("Tape can lift paint that was refinished or is loose."),
        (),
        (_("Pull it back flat and slowly; cover edges and trim before the machine comes near."),),
    ),
    OperationKind.CORRECTION: Caution(
        WARNING,
        _("Cutting through the clear coat cannot be undone; compound flies and dries to dust."),
        (_("eye protection"), _("dust mask"), _("hearing protection at long runs")),
        (
            _("Read the film again after the test spot and where it is thin."),
            _("Keep off edges and body lines; keep cord and sleeves away from the pad."),
        ),
    ),
    OperationKind.SPOT: Caution(
        DANGER,
        _("Sanding cuts through within seconds; dust of old or refinished paint may be toxic."),
        (_("respirator with particle filter"), _("eye protection"), _("gloves")),
        (
            _("Sand wet or with extraction; read the film at every few strokes."),
            _("Stop at the floor, whatever is left of the scratch."),
        ),
    ),
    OperationKind.WIPE: Caution(
        DANGER,
        _("Solvent vapour burns and makes dizzy."),
        (_DATA_SHEET_GLOVES, _("eye protection")),
        (
            _("Air on, no spark, flame or hot lamp nearby."),
            _("Used towels go into the closed metal bin."),
        ),
    ),
    OperationKind.COATING: Caution(
        DANGER,
        _("Flammable vapour. Some coatings contain isocyanates, which can cause lasting asthma."),
        (
            _DATA_SHEET_GLOVES,
            _("respirator of the kind the data sheet names"),
            _("eye protection"),
        ),
        (
            _("Air on, no spark or flame; nobody without protection in the bay."),
            _("Surface at least 3 °C above the dew point; keep to the flash and recoat times."),
            _("Coated towels go into the closed metal bin: they can heat up by themselves."),
        ),
    ),
    OperationKind.CURE: Caution(
        WARNING,
        _("Lamps and panels get hot enough to burn skin and to start a fire."),
        (_("eye protection against infrared where the lamp's sheet asks for it"),),
        (
            _("Keep the lamp at the distance on its sheet; measure the panel, not the air."),
            _("No solvent and no towels near a lamp; look in on it."),
            _("Nothing wet on the coat until the cure clock allows it."),
        ),
    ),
    OperationKind.ADD_ON: Caution(
        WARNING,
        _("Cleaners and dressings differ; some burn skin or eyes."),
        (_DATA_SHEET_GLOVES, _("eye protection")),
        (_("Try it where nobody looks before doing the whole part."),),
    ),
}


def caution_for(kind: str) -> Caution:
    """Return the caution that belongs to an operation of ``kind``."""
    return CAUTIONS[kind]
