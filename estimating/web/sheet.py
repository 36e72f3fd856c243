"""The inspection sheet: what stands in its fields, and the document they make.

The sheet keeps texts as they were typed, so that nothing is lost when something
is refused, and knows for each part of the document which field it came from, so
that a refusal can be shown there.
"""

from __future__ import annotations

import re
from collections.abc import Mapping, Sequence
from dataclasses import dataclass, field
from typing import Any, Final

from django.utils.translation import gettext as _

from estimating.core.catalogue import Catalogue
from estimating.core.formats import INSPECTION_FORMAT
from estimating.core.result import PanelPlan
from estimating.core.units import UNITS, from_um, to_um
from estimating.core.words import COUNT_KINDS
from estimating.models import Inspection, Photo
from estimating.selectors import inspection_document
from estimating.web.pictures import Strip
from estimating.web.readings import ReadingsRefused, spots_of, text_of
from estimating.web.trial_row import TrialRow
from estimating.web.words import PANELS, WALK
from shop.refusals import Refused

_PANEL_PATH: Final = re.compile(r"panels\[(\d+)\](.*)")
_DEFECT_PATH: Final = re.compile(r"defects\[(\d+)\]\.?(\w*)")
_MOST_FINDINGS: Final = 12
_KEPT: Final = ("earlier",)


@dataclass
class FindingRow:
    """One finding as it stands in its fields; an empty kind is an unused row."""

    kind: str = ""
    severity: str = "moderate"
    amount: str = ""
    reading: str = ""
    errors: list[str] = field(default_factory=list)

    @property
    def counted(self) -> bool:
        """Whether it takes a count instead of a share."""
        return self.kind in COUNT_KINDS


@dataclass
class PanelRow:
    """One panel as it stands in its fields."""

    panel: str
    substrate: str
    included: bool = False
    readings: str = ""
    findings: list[FindingRow] = field(default_factory=list)
    covered: bool = False
    trial: TrialRow = field(default_factory=TrialRow)
    errors: list[str] = field(default_factory=list)
    # Parts of the document that the sheet has no field for; saving must not lose them.
    kept: dict[str, Any] = field(default_factory=dict)
    plan: PanelPlan | None = None
    strip: Strip | None = None
    photos: list[Photo] = field(default_factory=list)

    @property
    def name(self) -> Any:
        """The panel's name in words."""
        return PANELS[self.panel]

    @property
    def used(self) -> bool:
        """Whether anything was entered, so that the panel is part of the job."""
        typed = bool(self.readings.strip()) or self.covered or self.trial.used
        return self.included or typed or any(f.kind for f in self.findings)

    @property
    def refused(self) -> bool:
        """Whether anything on it was refused."""
        return bool(self.errors or self.trial.errors) or any(row.errors for row in self.findings)


@dataclass
class Sheet:
    """All fields of an inspection sheet, panels in walk order."""

    unit: str
    rows: list[PanelRow]
    gauge: str = ""
    notes: str = ""
    finished: bool = False
    version: str = ""
    cleared: str = "60"
    # Of the whole vehicle, or of a panel that has no row.
    photos: list[Photo] = field(default_factory=list)
    errors: dict[str, list[str]] = field(default_factory=dict)

    @property
    def refused(self) -> bool:
        """Whether anything on the sheet was refused."""
        return bool(self.errors) or any(row.refused for row in self.rows)

    def sides(self) -> list[tuple[Any, list[PanelRow]]]:
        """Rows by side of the vehicle."""
        by_panel = {row.panel: row for row in self.rows}
        found = []
        for _code, name, walk in WALK:
            here = [by_panel[panel] for panel in walk if panel in by_panel]
            if here:
                found.append((name, here))
        return found


def empty_rows(catalogue: Catalogue, body: str) -> list[PanelRow]:
    """Rows for the panel set of a body, in walk order, nothing entered."""
    kinds = {row.code: row for row in catalogue.panel_kinds}
    of_body = {row.panel for row in catalogue.body_panels if row.body == body}
    walk = [panel for _code, _name, panels in WALK for panel in panels]
    return [
        PanelRow(panel=panel, substrate=kinds[panel].substrate, findings=[FindingRow()])
        for panel in walk
        if panel in of_body and panel in kinds
    ]


def sheet_of(inspection: Inspection, catalogue: Catalogue) -> Sheet:
    """The sheet as it was saved."""
    rows = empty_rows(catalogue, inspection.vehicle.body)
    by_panel = {row.panel: row for row in rows}
    for part in inspection_document(inspection)["panels"]:
        row = by_panel.get(part["panel"])
        if row is None:
            # Any panel may be inspected on any body; it stands at the end.
            row = PanelRow(panel=part["panel"], substrate=part["substrate"])
            rows.append(row)
        row.substrate, row.included = part["substrate"], True
        row.readings = text_of(part["spots"])
        row.covered = bool(part.get("covered"))
        if part.get("test_spot"):
            row.trial = TrialRow.of(part["test_spot"])
        row.kept = {key: part[key] for key in _KEPT if key in part}
        row.findings = [_finding_row(defect) for defect in part["defects"]] + [FindingRow()]
    return Sheet(
        unit=inspection.unit,
        rows=rows,
        gauge=str(inspection.gauge_id or ""),
        notes=inspection.notes,
        finished=inspection.finished,
        version=str(inspection.version),
    )


def _finding_row(defect: Mapping[str, Any]) -> FindingRow:
    extent = defect.get("extent")
    amount = defect.get("count") if extent is None else round(100 * extent, 4)
    reading = defect.get("local_reading")
    return FindingRow(
        kind=defect["kind"],
        severity=defect.get("severity", "moderate"),
        amount=f"{amount:g}" if amount is not None else "",
        reading=f"{reading:g}" if reading is not None else "",
    )


def sheet_from(data: Mapping[str, str], rows: Sequence[PanelRow], unit: str) -> Sheet:
    """The sheet as it was typed; ``rows`` are those that may be on it, in ``unit``."""
    typed_unit = data.get("unit", unit) if data.get("unit") in UNITS else unit
    kept = []
    for row in rows:
        key = row.panel
        findings = []
        for index in range(_MOST_FINDINGS):
            if f"{key}-{index}-kind" not in data:
                break
            findings.append(
                FindingRow(
                    kind=data.get(f"{key}-{index}-kind", ""),
                    severity=data.get(f"{key}-{index}-severity", "moderate"),
                    amount=data.get(f"{key}-{index}-amount", "").strip(),
                    reading=data.get(f"{key}-{index}-reading", "").strip(),
                )
            )
        used = [finding for finding in findings if finding.kind]
        more = f"{key}-more" in data
        kept.append(
            PanelRow(
                panel=key,
                substrate=data.get(f"{key}-substrate", row.substrate),
                included=f"{key}-included" in data,
                readings=data.get(f"{key}-readings", "").strip(),
                findings=[*used, FindingRow()],
                # A form without these fields leaves them as they are.
                covered=f"{key}-covered" in data if more else row.covered,
                trial=TrialRow.typed(data, key) if more else row.trial.in_unit(unit, typed_unit),
                kept=_in_unit(row.kept, unit, typed_unit),
            )
        )
    return Sheet(
        unit=typed_unit,
        rows=kept,
        gauge=data.get("gauge", ""),
        notes=data.get("notes", ""),
        finished="finished" in data,
        version=data.get("version", ""),
        cleared=data.get("cleared", "60"),
    )


def _in_unit(kept: Mapping[str, Any], unit: str, wanted: str) -> dict[str, Any]:
    """Parts without a field, when the unit of the sheet changes under them."""
    if unit == wanted:
        return dict(kept)

    def changed(film: float) -> float:
        return round(from_um(to_um(film, unit), wanted), 5)

    found = dict(kept)
    if "earlier" in kept:
        found["earlier"] = [{**seen, "film": changed(seen["film"])} for seen in kept["earlier"]]
    return found


def document_of(sheet: Sheet, vehicle: Mapping[str, Any]) -> tuple[dict[str, Any], list[PanelRow]]:
    """The document of a sheet, and the row of each of its panels.

    What cannot be read is noted at its row and left out, so that the rest of the
    sheet can be worked out all the same; look at :attr:`Sheet.refused`.
    """
    panels, where = [], []
    for row in sheet.rows:
        if not row.used:
            continue
        part = _panel_part(row, sheet.unit)
        if not row.refused:
            panels.append(part)
            where.append(row)
    document = {
        "format": INSPECTION_FORMAT,
        "unit": sheet.unit,
        "vehicle": dict(vehicle),
        "panels": panels,
    }
    return document, where


def goal_of(sheet: Sheet) -> dict[str, Any]:
    """The goal that the sheet is looked at with: a share to clear, or all the film allows."""
    try:
        percent = float(sheet.cleared)
    except ValueError:
        percent = -1.0
    if not 0 <= percent <= 100:
        sheet.errors["cleared"] = [_("Write a share between 0 and 100 %.")]
        return {"cleared": 0.6}
    return {"safest_best": True} if percent == 100 else {"cleared": percent / 100}


def _panel_part(row: PanelRow, unit: str) -> dict[str, Any]:
    part: dict[str, Any] = {
        "panel": row.panel,
        "substrate": row.substrate,
        "spots": [],
        "defects": [],
        **row.kept,
    }
    try:
        part["spots"] = spots_of(row.readings, unit)
    except ReadingsRefused as error:
        _note(row.errors, str(error))
    part["defects"] = [_defect_part(finding) for finding in row.findings if finding.kind]
    trial = row.trial.part(unit)
    if trial is not None:
        part["test_spot"] = trial
    if row.covered:
        part["covered"] = True
    return part


def _defect_part(finding: FindingRow) -> dict[str, Any]:
    part: dict[str, Any] = {"kind": finding.kind, "severity": finding.severity}
    if finding.counted:
        number = _number(finding.amount)
        if number is None or number != int(number):
            _note(finding.errors, _("Write how many there are, such as 2."))
        else:
            part["count"] = int(number)
        if finding.reading:
            reading = _number(finding.reading)
            if reading is None:
                _note(
                    finding.errors,
                    _("“%(text)s” is no reading. Write what the gauge shows at the bottom.")
                    % {"text": finding.reading[:40]},
                )
            part["local_reading"] = reading
    else:
        number = _number(finding.amount.removesuffix("%"))
        if number is None or not 0 <= number <= 100:
            message = _("Write the share of the panel in percent, from 0 to 100.")
            _note(finding.errors, message)
        else:
            part["extent"] = round(number / 100, 6)
    return part


def _number(text: str) -> float | None:
    try:
        value = float(text.strip().replace(",", "."))
    except ValueError:
        return None
    return value if abs(value) < 1e6 else None


def show_refusal(sheet: Sheet, where: Sequence[PanelRow], refused: Refused) -> None:
    """Put each problem of a refusal at the field it is about."""
    for name, messages in refused.by_field().items():
        found = _PANEL_PATH.search(name)
        row = where[int(found[1])] if found and int(found[1]) < len(where) else None
        if found is None or row is None:
            _note(sheet.errors.setdefault(name, []), *messages)
            continue
        defect = _DEFECT_PATH.search(found[2])
        used = [finding for finding in row.findings if finding.kind]
        if defect and int(defect[1]) < len(used):
            _note(used[int(defect[1])].errors, *messages)
        elif ".test_spot" in found[2]:
            _note(row.trial.errors, *messages)
        else:
            _note(row.errors, *messages)


def _note(errors: list[str], *messages: str) -> None:
    """Add messages once each: a sheet is read again after a refusal."""
    errors.extend(message for message in messages if message not in errors)
