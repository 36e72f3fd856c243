"""The test spot of a panel as it stands in its fields, and the part of a document it makes."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, field, replace
from typing import Any

from django.utils.translation import gettext as _

from estimating.core.units import from_um, to_um
from estimating.web.readings import ReadingsRefused, spots_of, text_of


@dataclass
class TrialRow:
    """A level tried on a section, readings before and after it, share seen to clear in percent."""

    level: str = ""
    before: str = ""
    after: str = ""
    cleared: str = ""
    errors: list[str] = field(default_factory=list)

    @property
    def used(self) -> bool:
        """Whether anything was entered."""
        return bool(self.level or self.before or self.after or self.cleared)

    @classmethod
    def of(cls, part: Mapping[str, Any]) -> TrialRow:
        """The fields of a document's ``test_spot``."""
        cleared = part.get("cleared")
        return cls(
            level=part["level"],
            before=text_of(part["before"]),
            after=text_of(part["after"]),
            cleared="" if cleared is None else f"{round(100 * cleared, 4):g}",
        )

    @classmethod
    def typed(cls, data: Mapping[str, str], panel: str) -> TrialRow:
        """The fields as they were typed."""

        def field(name: str) -> str:
            return data.get(f"{panel}-trial-{name}", "").strip()

        return cls(field("level"), field("before"), field("after"), field("cleared"))

    def in_unit(self, unit: str, wanted: str) -> TrialRow:
        """The same film written in another unit; what is no reading stays as it stands."""
        if unit == wanted:
            return self

        def changed(text: str) -> str:
            try:
                spots = spots_of(text, unit)
            except ReadingsRefused:
                return text
            return text_of([[from_um(to_um(film, unit), wanted) for film in s] for s in spots])

        return replace(self, before=changed(self.before), after=changed(self.after))

    def part(self, unit: str) -> dict[str, Any] | None:
        """The ``test_spot`` of a document; None where nothing was entered or some is wrong.

        What is wrong is noted at :attr:`errors`, with what would be right.
        """
        if not self.used:
            return None
        part: dict[str, Any] = {"level": self.level}
        found = []
        if not self.level:
            found.append(_("Say which level was tried on the test spot."))
        words = {"before": _("before"), "after": _("after")}
        for name, text in (("before", self.before), ("after", self.after)):
            try:
                part[name] = spots_of(text, unit)
            except ReadingsRefused as error:
                found.append(f"{words[name]}: {error}")
                continue
            if not part[name]:
                found.append(_("%s: take at least one spot of three readings.") % words[name])
        if self.cleared:
            part["cleared"] = _share(self.cleared)
            if part["cleared"] is None:
                found.append(
                    _("“%s” is no share. Write how much was seen to go, from 0 to 100 %%.")
                    % self.cleared[:40]
                )
        self.errors.extend(message for message in found if message not in self.errors)
        return None if found else part


def _share(text: str) -> float | None:
    try:
        percent = float(text.removesuffix("%").strip().replace(",", "."))
    except ValueError:
        return None
    return round(percent / 100, 6) if 0 <= percent <= 100 else None
