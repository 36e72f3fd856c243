"""Names of panels, findings and plans as people read them, and the order of a walk round."""

from __future__ import annotations

from typing import Final

from django.utils.translation import gettext_lazy as _

# One walk round the vehicle: down the left side from the front, along the rear,
# up the right side, over the front, then what is above the belt.
WALK: Final = (
    (
        "left",
        _("Left side"),
        (
            "front_left_fender",
            "front_left_quarter",
            "left_mirror",
            "front_left_door",
            "left_pillar",
            "rear_left_door",
            "left_rocker",
            "left_bedside",
            "rear_left_fender",
            "rear_left_quarter",
        ),
    ),
    ("rear", _("Rear"), ("trunk_lid", "tailgate", "rear_bumper")),
    (
        "right",
        _("Right side"),
        (
            "rear_right_quarter",
            "rear_right_fender",
            "right_bedside",
            "right_rocker",
            "rear_right_door",
            "right_pillar",
            "front_right_door",
            "right_mirror",
            "front_right_quarter",
            "front_right_fender",
        ),
    ),
    ("front", _("Front"), ("front_bumper", "grille_trim", "hood")),
    ("top", _("Top"), ("roof", "pillar_trim")),
)

PANELS: Final = {
    "hood": _("Hood"),
    "roof": _("Roof"),
    "trunk_lid": _("Trunk lid"),
    "tailgate": _("Tailgate"),
    "front_bumper": _("Front bumper"),
    "rear_bumper": _("Rear bumper"),
    "front_left_fender": _("Front left fender"),
    "front_left_door": _("Front left door"),
    "front_left_quarter": _("Front left quarter"),
    "front_right_fender": _("Front right fender"),
    "front_right_door": _("Front right door"),
    "front_right_quarter": _("Front right quarter"),
    "rear_left_fender": _("Rear left fender"),
    "rear_left_door": _("Rear left door"),
    "rear_left_quarter": _("Rear left quarter"),
    "rear_right_fender": _("Rear right fender"),
    "rear_right_door": _("Rear right door"),
    "rear_right_quarter": _("Rear right quarter"),
    "left_rocker": _("Left rocker"),
    "right_rocker": _("Right rocker"),
    "left_mirror": _("Left mirror"),
    "right_mirror": _("Right mirror"),
    "left_pillar": _("Left pillar"),
    "right_pillar": _("Right pillar"),
    "left_bedside": _("Left bedside"),
    "right_bedside": _("Right bedside"),
    "grille_trim": _("Grille trim"),
    "pillar_trim": _("Pillar trim"),
}

GROUPS: Final = {
    "front": _("Front"),
    "left": _("Left side"),
    "right": _("Right side"),
    "rear": _("Rear"),
    "top": _("Top"),
    "trim": _("Trim"),
}

LEVELS: Final = {
    "none": _("No correction"),
    "single": _("Single-stage"),
    "two": _("Two-stage"),
    "multi": _("Multi-stage"),
}

KINDS: Final = {
    "swirl_marks": _("Swirl marks"),
    "deep_scratch": _("Deep scratch"),
    "etching": _("Etching"),
    "water_spots": _("Water spots"),
    "sanding_marks": _("Sanding marks"),
    "oxidation": _("Oxidation"),
    "buffer_trails": _("Buffer trails"),
    "scuffs": _("Scuffs"),
    "overspray": _("Overspray"),
}

SEVERITIES: Final = {"light": _("Light"), "moderate": _("Moderate"), "heavy": _("Heavy")}

METHODS: Final = {
    "sand": _("sand, compound, polish"),
    "fill": _("fill, sand, compound, polish"),
    "leave": _("leave it"),
}

CONDITIONS: Final = {
    "original": _("original"),
    "refinished": _("refinished"),
    "thin": _("thin"),
    "unreadable": _("no gauge reading"),
}
