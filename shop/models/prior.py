"""What is expected of a vehicle before anybody has looked at it."""

from __future__ import annotations

from django.db import models

from shop.models.catalogue_base import CatalogueRow, code_field, row_meta


class PriorGrade(CatalogueRow):
    """A state the paint may be in, mildest first."""

    code = code_field()
    name = models.CharField(max_length=60)
    order = models.PositiveSmallIntegerField()

    class Meta(CatalogueRow.Meta):
        constraints = row_meta("prior_grade", "code")


class PriorAge(CatalogueRow):
    """An age band in months and the film expected in it."""

    code = code_field()
    name = models.CharField(max_length=60)
    from_months = models.PositiveSmallIntegerField()
    to_months = models.PositiveSmallIntegerField(null=True, blank=True)
    film_um = models.FloatField()
    film_sd_um = models.FloatField()

    class Meta(CatalogueRow.Meta):
        constraints = row_meta("prior_age", "code")


class PriorShare(CatalogueRow):
    """The share of vehicles of an age band that are in a grade."""

    key = ("age", "grade")

    age = code_field()
    grade = code_field()
    share = models.FloatField()

    class Meta(CatalogueRow.Meta):
        constraints = row_meta("prior_share", "age", "grade")


class PriorQuestion(CatalogueRow):
    """A question to the caller."""

    code = code_field()
    text = models.CharField(max_length=160)
    order = models.PositiveSmallIntegerField()

    class Meta(CatalogueRow.Meta):
        constraints = row_meta("prior_question", "code")


class PriorAnswer(CatalogueRow):
    """An answer, how common it is and what it says about the paint."""

    key = ("question", "code")

    question = code_field()
    code = code_field()
    name = models.CharField(max_length=80)
    share = models.FloatField()
    tilt = models.FloatField(help_text="Added to the log-odds from each grade to the next.")
    film_shift_um = models.FloatField()

    class Meta(CatalogueRow.Meta):
        constraints = row_meta("prior_answer", "question", "code")


class PriorDefect(CatalogueRow):
    """What a grade has on painted panels or on trim: an extent, or a count for each m²."""

    key = ("grade", "surface", "kind")

    grade = code_field()
    surface = models.CharField(max_length=8)
    kind = code_field()
    severity = models.CharField(max_length=10)
    extent = models.FloatField()
    count_per_m2 = models.FloatField()

    class Meta(CatalogueRow.Meta):
        constraints = row_meta("prior_defect", "grade", "surface", "kind")
