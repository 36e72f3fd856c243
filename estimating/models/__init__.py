"""Records of findings and offers."""

from estimating.models.inspections import (
    Defect,
    Gauge,
    GaugeCalibration,
    Inspection,
    PanelFinding,
    Substrate,
)
from estimating.models.pages import CustomerPage
from estimating.models.photos import Photo, PhotoStage
from estimating.models.quotes import Quote, QuoteState

__all__ = [
    "CustomerPage",
    "Defect",
    "Gauge",
    "GaugeCalibration",
    "Inspection",
    "PanelFinding",
    "Photo",
    "PhotoStage",
    "Quote",
    "QuoteState",
    "Substrate",
]
