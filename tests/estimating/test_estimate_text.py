"""The page of text says everything, with film in the file's unit and the cautions."""

from estimating.cautions import cautions_for
from estimating.core.options import Options
from estimating.services.estimates import estimate_without_shop
from estimating.text import estimate_text
from tests.factories import document, fender

SCRATCH = {"kind": "deep_scratch", "count": 1, "local_reading": 3.8}
SWIRLS = {"kind": "swirl_marks", "severity": "light", "extent": 0.6}


def page(options: Options | None = None, **changes: object) -> str:
    return estimate_text(
        estimate_without_shop(document=document(**changes), options=options or Options())
    )


def test_each_panel_in_full() -> None:
    text = page(panels=[fender(defects=[SWIRLS, SCRATCH])])
    for expected in (
        "front left fender (steel, 0.91 m²)",
        "lowest spot 4.27 mil",
        "budget    1.07 mil",
        "level     Single-stage",
        "removes   0.06 mil",
        "left      at least ",
        "of going under the floor",
        "1 × deep scratch: sand",
        "Hours of work",
        "Materials",
        "Cost  ",
        "Price  ",
        "<- this plan",
        "Why this plan",
    ):
        assert expected in text, expected


def test_film_in_the_unit_of_the_file() -> None:
    microns = page(unit="um", panels=[fender(spots=[[108.5, 108.4, 108.3]])])
    assert "lowest spot 108 µm" in microns
    assert "mil" not in microns


def test_a_panel_that_no_gauge_reads() -> None:
    bumper = {"panel": "front_bumper", "substrate": "composite", "spots": [], "defects": [SWIRLS]}
    assert "film      unknown (unreadable)" in page(panels=[bumper])


def test_expected_is_not_called_measured() -> None:
    assert page(panels=[]).startswith("Not inspected")


def test_cautions_fit_the_work() -> None:
    assert "isocyanates" not in page()
    coated = page(Options(coating="lantern"))
    assert "Danger: coatings give off solvents" in coated
    assert "lamps burn" in coated


def test_signal_words_are_danger_and_warning_alone() -> None:
    *lines, deferring = cautions_for(["wash", "correction", "spot", "wipe", "coating"], lamps=True)
    assert all(line.startswith(("Danger: ", "Warning: ")) for line in lines)
    assert "data sheets" in deferring
