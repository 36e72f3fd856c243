"""Two people saved one sheet: what differs, panel by panel, and whose is taken."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass

from django.utils.translation import gettext as _

from estimating.web.sheet import PanelRow, Sheet
from estimating.web.words import KINDS, LEVELS, SEVERITIES


@dataclass(frozen=True)
class Clash:
    """One panel as it stands here and as it was saved meanwhile, in words."""

    row: PanelRow
    mine: str
    theirs: str
    take_theirs: bool


def clashes_of(mine: Sheet, theirs: Sheet) -> list[Clash]:
    """Panels that differ; where nothing is entered here, theirs is proposed."""
    saved = {row.panel: row for row in theirs.rows}
    found = []
    for row in mine.rows:
        there = saved.get(row.panel)
        if there is None:
            continue
        here_text, there_text = row_text(row), row_text(there)
        if here_text != there_text:
            found.append(Clash(row, here_text, there_text, take_theirs=not row.used))
    return found


def take_chosen(data: Mapping[str, str], sheet: Sheet, saved: Sequence[PanelRow]) -> None:
    """Put the saved row in the place of each panel for which theirs was chosen."""
    by_panel = {row.panel: row for row in saved}
    sheet.rows = [
        by_panel.get(row.panel, row) if data.get(f"keep-{row.panel}") == "theirs" else row
        for row in sheet.rows
    ]


def row_text(row: PanelRow) -> str:
    """What stands on one panel, in words; empty where nothing does."""
    if not row.used:
        return ""
    parts = [" ".join(row.readings.split())] if row.readings.strip() else []
    for finding in row.findings:
        if not finding.kind:
            continue
        words = [str(KINDS.get(finding.kind, finding.kind))]
        words.append(str(SEVERITIES.get(finding.severity, finding.severity)).lower())
        words.append(f"× {finding.amount}" if finding.counted else f"{finding.amount} %")
        if finding.reading:
            words.append(_("in it %s") % finding.reading)
        parts.append(" ".join(words))
    if row.covered:
        parts.append(_("protection film"))
    if row.trial.used:
        trial = row.trial
        level = LEVELS.get(trial.level, trial.level)
        parts.append(_("test spot %s") % f"{level} {trial.before} → {trial.after} {trial.cleared}")
    return "; ".join([str(row.substrate), *parts])
