"""The words of the trade that files and tables may use, in one place."""

from __future__ import annotations

BODIES = ("coupe", "hatchback", "sedan", "wagon", "crossover", "suv", "pickup", "van")

PANELS = (
    "hood", "roof", "trunk_lid", "tailgate", "front_bumper", "rear_bumper",
    *(
        f"{end}_{side}_{part}"
        for end in ("front", "rear")
        for side in ("left", "right")
        for part in ("fender", "door", "quarter")
    ),
    *(f"{side}_{part}" for part in ("rocker", "mirror", "pillar", "bedside")
      for side in ("left", "right")),
    "grille_trim", "pillar_trim",
)  # fmt: skip

SUBSTRATES = ("steel", "aluminium", "composite")
HARDNESSES = ("soft", "medium", "hard")
SEVERITIES = ("light", "moderate", "heavy")

AREA_KINDS = (
    "swirl_marks", "water_spots", "sanding_marks", "oxidation",
    "buffer_trails", "scuffs", "overspray",
)  # fmt: skip
COUNT_KINDS = ("deep_scratch", "etching")
KINDS = (*AREA_KINDS, *COUNT_KINDS)

LEVELS = ("none", "single", "two", "multi")
METHODS = ("sand", "fill", "leave")
CONDITIONS = ("original", "refinished", "thin", "unreadable")
GROUPS = ("front", "left", "right", "rear", "top", "trim")
STAGES = ("wash", "mask", "correction", "spot", "wipe", "coating", "cure", "add_on")
BAY_CAPABILITIES = ("wash", "correction", "coating", "any")
SKILLS = ("wash", "polish", "coat", "none")
USAGE_PER = ("vehicle", "m2", "count")
DISTRIBUTIONS = ("exponential", "lognormal")


def plain(word: str) -> str:
    """Turn a code such as `front_left_fender` into words for a sentence."""
    return word.replace("_", " ")
