"""What a vehicle is likely to need before anybody has looked at it.

Age gives the odds of each grade of condition; each answer of the caller tilts
them; a question not yet asked is averaged over its answers by how common they are.
The grades carry defects like those of an inspection, and go through the same code.
"""

from __future__ import annotations

import math
from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass
from itertools import product
from statistics import NormalDist

from estimating.core.catalogue import Catalogue
from estimating.core.catalogue_prior import PriorAge, PriorAnswer
from estimating.core.film import PanelFilm
from estimating.core.inspection import Vehicle

_Z10 = NormalDist().inv_cdf(0.10)


@dataclass(frozen=True)
class Expectation:
    """Odds of each grade, mildest first, and the film expected, in micrometres."""

    grades: tuple[tuple[str, float], ...]
    film_um: float
    film_sd_um: float

    def film(self) -> PanelFilm:
        """The film as a panel's statistics; the lowest spot is the 10 % quantile."""
        return PanelFilm(
            spots=(),
            mean_um=self.film_um,
            lowest_um=self.film_um + _Z10 * self.film_sd_um,
            highest_um=self.film_um - _Z10 * self.film_sd_um,
            spread_um=self.film_sd_um,
            readings_per_spot=1.0,
        )

    def median_grade(self) -> str:
        """The mildest grade that at least half of such vehicles do not exceed."""
        reached = 0.0
        for grade, chance in self.grades:
            reached += chance
            if reached >= 0.5:
                return grade
        return self.grades[-1][0]


def age_band(catalogue: Catalogue, age_months: int) -> PriorAge:
    """The age band of a vehicle; the last band where none fits."""
    for row in catalogue.prior_ages:
        if row.from_months <= age_months and (row.to_months is None or age_months < row.to_months):
            return row
    return catalogue.prior_ages[-1]


def expectation(catalogue: Catalogue, age_months: int, answers: Mapping[str, str]) -> Expectation:
    """Odds of the grades given age and the answers so far.

    Parameters
    ----------
    catalogue
        Holds the tables of the prior.
    age_months
        Age of the vehicle.
    answers
        Question code to answer code; questions left out are averaged over.
    """
    band = age_band(catalogue, age_months)
    order = sorted(catalogue.prior_grades, key=lambda row: row.order)
    base = {row.grade: row.share for row in catalogue.prior_shares if row.age == band.code}
    totals = dict.fromkeys((row.code for row in order), 0.0)
    shift = square = 0.0
    for weight, tilt, film_shift in _cases(catalogue, answers):
        tilted = {
            row.code: base.get(row.code, 0.0) * math.exp(tilt * step)
            for step, row in enumerate(order)
        }
        whole = sum(tilted.values())
        for code, amount in tilted.items():
            totals[code] += weight * amount / whole
        shift += weight * film_shift
        square += weight * film_shift**2
    variance = band.film_sd_um**2 + max(square - shift**2, 0.0)
    return Expectation(tuple(totals.items()), band.film_um + shift, math.sqrt(variance))


def _cases(
    catalogue: Catalogue, answers: Mapping[str, str]
) -> Iterator[tuple[float, float, float]]:
    """Every combination of answers still open: its weight, tilt and film shift."""
    open_answers = [
        possible_answers(catalogue, row.code, answers) for row in catalogue.prior_questions
    ]
    for combination in product(*open_answers):
        weight = math.prod(share for share, _ in combination)
        yield (
            weight,
            sum(answer.tilt for _, answer in combination),
            sum(answer.film_shift_um for _, answer in combination),
        )


def possible_answers(
    catalogue: Catalogue, question: str, answers: Mapping[str, str]
) -> list[tuple[float, PriorAnswer]]:
    """Answers to a question with their shares: the one given, or all of them."""
    rows = [row for row in catalogue.prior_answers if row.question == question]
    given = [row for row in rows if row.code == answers.get(question)]
    return [(1.0, given[0])] if given else [(row.share, row) for row in rows]


def vehicle_expectation(catalogue: Catalogue, vehicle: Vehicle) -> Expectation:
    """Odds for a vehicle as far as it is known."""
    return expectation(catalogue, vehicle.age_months, vehicle.answers())


@dataclass(frozen=True)
class Shifted:
    """An amount that is `base + rate * minutes`, with log-normal minutes, and its weight."""

    weight: float
    base: float
    rate: float
    mu: float
    sigma: float

    def chance_within(self, amount: float) -> float:
        """P(amount of this case <= `amount`)."""
        minutes = (amount - self.base) / self.rate
        if minutes <= 0:
            return 0.0
        if self.sigma == 0:
            return 1.0 if math.log(minutes) >= self.mu else 0.0
        return NormalDist().cdf((math.log(minutes) - self.mu) / self.sigma)


def mixture_quantile(cases: Sequence[Shifted], quantile: float) -> float:
    """Quantile of a mixture, by bisection to one part in a million."""
    low, high = 0.0, 1.0
    weight = sum(case.weight for case in cases)
    while sum(case.weight * case.chance_within(high) for case in cases) < quantile * weight:
        high *= 2.0
    while high - low > 1e-6 * high:
        middle = (low + high) / 2
        if sum(case.weight * case.chance_within(middle) for case in cases) < quantile * weight:
            low = middle
        else:
            high = middle
    return (low + high) / 2
