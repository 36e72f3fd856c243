"""What the shop does and how long it takes: bodies, panels, washes, levels, defects, stages.

Film in micrometres, area in square metres, time in minutes. ``sigma`` is the
standard deviation of the logarithm of a duration.
"""

from __future__ import annotations

from django.db import models

from shop.models.base import money_field
from shop.models.catalogue_base import CatalogueRow, code_field, row_meta


class BodyClass(CatalogueRow):
    """A body class; its factors multiply every wash or panel time on it."""

    code = code_field()
    name = models.CharField(max_length=60)
    time_factor = models.FloatField()
    wash_factor = models.FloatField()

    class Meta(CatalogueRow.Meta):
        verbose_name_plural = "body classes"
        constraints = row_meta("body_class", "code")


class PanelKind(CatalogueRow):
    """What holds for a panel on any body; its area serves where a body has no row."""

    code = code_field()
    group = models.CharField(max_length=12)
    substrate = models.CharField(max_length=12)
    area_m2 = models.FloatField()
    access_factor = models.FloatField()
    neighbours = models.JSONField(default=list)

    class Meta(CatalogueRow.Meta):
        constraints = row_meta("panel_kind", "code")


class BodyPanel(CatalogueRow):
    """One panel of the panel set of one body."""

    key = ("body", "panel")

    body = code_field()
    panel = code_field()
    area_m2 = models.FloatField()
    access_factor = models.FloatField()

    class Meta(CatalogueRow.Meta):
        constraints = row_meta("body_panel", "body", "panel")


class WashSize(CatalogueRow):
    """A prep wash by size; ``list_price`` is what it costs when sold alone."""

    code = code_field()
    name = models.CharField(max_length=60)
    bodies = models.JSONField(default=list)
    minutes = models.FloatField()
    sigma = models.FloatField()
    list_price = money_field()

    class Meta(CatalogueRow.Meta):
        constraints = row_meta("wash_size", "code")


class CorrectionLevel(CatalogueRow):
    """A correction level; its passes are :class:`LevelPass` rows."""

    code = code_field()
    name = models.CharField(max_length=60)
    order = models.PositiveSmallIntegerField()
    on_unreadable = models.BooleanField(help_text="May be used where no gauge reads the film.")

    class Meta(CatalogueRow.Meta):
        constraints = row_meta("level", "code")


class LevelPass(CatalogueRow):
    """One time over the panel: what it takes from medium paint and how fast it goes."""

    key = ("level", "order")

    level = code_field()
    order = models.PositiveSmallIntegerField()
    name = models.CharField(max_length=60)
    removal_um = models.FloatField()
    removal_sd_um = models.FloatField()
    coverage_m2_per_hour = models.FloatField()
    sigma = models.FloatField()
    setup_minutes = models.FloatField()
    product = code_field()
    product_per_m2 = models.FloatField()
    pad = code_field()
    pad_life_m2 = models.FloatField()

    class Meta(CatalogueRow.Meta):
        verbose_name_plural = "level passes"
        constraints = row_meta("level_pass", "level", "order")


class PaintHardness(CatalogueRow):
    """Factors of a paint hardness on film removed, on time and on marks cleared."""

    code = code_field()
    removal_factor = models.FloatField()
    time_factor = models.FloatField()
    clearance_factor = models.FloatField()

    class Meta(CatalogueRow.Meta):
        verbose_name_plural = "paint hardnesses"
        constraints = row_meta("hardness", "code")


class DefectProfile(CatalogueRow):
    """Depth distribution of one kind of defect at one severity."""

    key = ("kind", "severity")

    kind = code_field()
    severity = models.CharField(max_length=10)
    distribution = models.CharField(max_length=12)
    depth_um = models.FloatField()
    depth_sigma = models.FloatField()
    weight = models.FloatField()

    class Meta(CatalogueRow.Meta):
        constraints = row_meta("defect_profile", "kind", "severity")


class SpotMethod(CatalogueRow):
    """Local work on one scratch or etch mark: what it takes and when it is allowed."""

    key = ("kind", "method")

    kind = code_field()
    method = models.CharField(max_length=8)
    order = models.PositiveSmallIntegerField()
    minutes = models.FloatField()
    sigma = models.FloatField()
    takes_um = models.FloatField()
    takes_sd_um = models.FloatField()
    bottom_least_um = models.FloatField()
    cleared = models.FloatField()
    unless_cleared = models.FloatField()

    class Meta(CatalogueRow.Meta):
        constraints = row_meta("spot_method", "kind", "method")


class AddOn(CatalogueRow):
    """Work sold beside correction and coating."""

    code = code_field()
    name = models.CharField(max_length=80)
    minutes = models.FloatField()
    sigma = models.FloatField()
    list_price = money_field()
    bay = models.CharField(max_length=12)
    skill = models.CharField(max_length=12)

    class Meta(CatalogueRow.Meta):
        constraints = row_meta("add_on", "code")


class Stage(CatalogueRow):
    """A kind of work block: fixed and per-area time, and what it needs."""

    code = code_field()
    name = models.CharField(max_length=60)
    minutes = models.FloatField()
    minutes_per_m2 = models.FloatField()
    sigma = models.FloatField()
    bay = models.CharField(max_length=12)
    skill = models.CharField(max_length=12)
    crew = models.PositiveSmallIntegerField()
    pausable = models.BooleanField()

    class Meta(CatalogueRow.Meta):
        constraints = row_meta("stage", "code")


class Usage(CatalogueRow):
    """Material that a stage, a spot method or an add-on uses."""

    key = ("stage", "consumable", "per")

    stage = code_field()
    consumable = code_field()
    per = models.CharField(max_length=8)
    quantity = models.FloatField()

    class Meta(CatalogueRow.Meta):
        constraints = row_meta("usage", "stage", "consumable", "per")


class TechnicianClass(CatalogueRow):
    """How the time of a class of technician compares with the catalogue's."""

    code = code_field()
    name = models.CharField(max_length=60)
    time_factor = models.FloatField()

    class Meta(CatalogueRow.Meta):
        verbose_name_plural = "technician classes"
        constraints = row_meta("technician_class", "code")


class CatalogueSetting(CatalogueRow):
    """A group of single figures (thresholds for film, the model of hours) under one code."""

    code = code_field()
    values = models.JSONField(default=dict)

    class Meta(CatalogueRow.Meta):
        constraints = row_meta("setting", "code")
