"""Whose turn it is in a search: steps of ruin and recreate, or models of a few jobs."""

from __future__ import annotations

from scheduling.core.sketch import Standing

LEAST_MODEL_SHARE, MOST_MODEL_SHARE = 0.04, 0.5
FORGET = 0.8


class Gains:
    """What steps and models gain by the second, and whose turn it is."""

    def __init__(self) -> None:
        self.steps = self.models = 0.0
        self.step_seconds = self.model_seconds = 1e-3
        self.owed = 0.0

    def of_steps(self, before: Standing, after: Standing, seconds: float) -> None:
        """Note what steps gained, and what is owed to models for it."""
        self.steps = FORGET * self.steps + _gain(before, after)
        self.step_seconds = FORGET * self.step_seconds + seconds
        self.owed += seconds * self.share / (1 - self.share)

    def of_model(self, before: Standing, after: Standing, seconds: float) -> None:
        """Note what a model gained."""
        self.models = FORGET * self.models + _gain(before, after)
        self.model_seconds = FORGET * self.model_seconds + seconds
        self.owed -= seconds

    @property
    def share(self) -> float:
        """Share of the time that models get."""
        steps = self.steps / self.step_seconds
        models = self.models / self.model_seconds
        share = models / (steps + models) if steps + models > 0 else MOST_MODEL_SHARE / 2
        return min(MOST_MODEL_SHARE, max(LEAST_MODEL_SHARE, share))

    def models_turn(self) -> bool:
        """Return whether models are owed some time."""
        return self.owed > 0.1


def _gain(before: Standing, after: Standing) -> float:
    if before.unplaced != after.unplaced:
        return before.objective * (before.unplaced - after.unplaced)
    return before.objective - after.objective
