"""The usual cautions for work that can hurt.

They never replace product data sheets, local codes or licensed practice, and say so.
"""

from __future__ import annotations

from collections.abc import Iterable
from typing import Final

from django.utils.translation import gettext_lazy as _
from django.utils.translation import gettext_noop

_BY_STAGE: Final[dict[str, tuple[str, ...]]] = {
    "wash": (
        gettext_noop(
            "Warning: wash water and removers must not reach the ground or a storm drain; "
            "gloves and eye protection for iron and tar removers."
        ),
    ),
    "correction": (
        gettext_noop(
            "Warning: a machine cuts through paint first at edges and body lines; "
            "read the film again after the first panel."
        ),
        gettext_noop("Warning: polishing dust; eye protection, and a mask that fits."),
    ),
    "spot": (
        gettext_noop(
            "Warning: sanding takes film faster than any pad; read the spot before, "
            "between and after, and stop above the floor."
        ),
    ),
    "wipe": (
        gettext_noop(
            "Warning: panel wipe is a solvent; fresh air, gloves, no open flame or spark."
        ),
    ),
    "coating": (
        gettext_noop(
            "Danger: coatings give off solvents, and some hold isocyanates, which can cause "
            "asthma for life; extraction, and the breathing protection of the data sheet."
        ),
    ),
}
_LAMPS: Final = gettext_noop(
    "Warning: curing lamps burn skin and eyes and light solvent vapour; "
    "keep the distance of the lamp's manual."
)
_DEFER: Final = gettext_noop(
    "Product data sheets, local codes and licensed practice come before anything here."
)


def cautions_for(stages: Iterable[str], *, lamps: bool = False) -> list[str]:
    """Cautions for the stages of some work, each once, in the order of the work.

    Parameters
    ----------
    stages
        Stage codes, which are the kinds of operations too.
    lamps
        Whether curing lamps are used.
    """
    found = [text for stage in dict.fromkeys(stages) for text in _BY_STAGE.get(stage, ())]
    if lamps:
        found.append(_LAMPS)
    return [str(_(text)) for text in [*found, _DEFER]]
