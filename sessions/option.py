"""One way to run what a member brings, and the words that the page has for it."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from datetime import datetime

from chemistry.units import UL_PER_ML
from darkroom.inducted import Lack
from darkroom.models import Equipment
from sessions.asking import Ask
from sessions.choosing import Manner
from sessions.minutes import Developing
from sessions.planner import Part
from sessions.planning.plan import Plan
from sessions.pouring import BathChoice
from sessions.wording import phase_words


@dataclass(frozen=True)
class Option:
    """A way to do it, with everything that would be booked."""

    ask: Ask
    manner: Manner
    plan: Plan
    starts: Sequence[datetime]
    baths: Sequence[BathChoice]
    missing: str = ""
    lack: Lack | None = None
    needs_company: bool = False

    @property
    def key(self) -> str:
        return self.manner.key

    @property
    def parts(self) -> Sequence[Part]:
        return self.manner.parts

    @property
    def vessel(self) -> Equipment:
        """The vessel that begins."""
        return self.manner.places[0][0]

    @property
    def vessels(self) -> str:
        return " and ".join(str(vessel) for vessel, _ in self.manner.places)

    @property
    def name(self) -> str:
        return " and ".join(vessel.name for vessel, _ in self.manner.places)

    @property
    def is_pair(self) -> bool:
        return len(self.manner.places) > 1

    @property
    def developing(self) -> Developing:
        """The developer's minutes of the first line."""
        return self.parts[0].developing

    @property
    def volumes(self) -> str:
        """Solution in one load, from vessel to vessel."""
        return " and ".join(map(str, sorted({part.loading.load_ml for part in self.parts})))

    @property
    def sentence(self) -> str:
        """What a press of the button would book, but for the time."""
        what = "; ".join(f"{_sheets(line.sheets)} of {line}" for line in self.ask.lines)
        loads = "one load" if self.plan.loads == 1 else f"{self.plan.loads} loads"
        return f"{what}, in {self.vessels}: {loads} of {self.volumes} mL."

    @property
    def over(self) -> str:
        return "; ".join(
            f"{vessel.code}, {how.get_agitation_display().lower()}"
            for vessel, how in self.manner.places
        )

    @property
    def split(self) -> str:
        """Sheets load by load; lines never share one."""
        return "; ".join(" + ".join(map(str, line.split)) for line in self.plan.lines)

    @property
    def phases(self) -> str:
        """The minutes of the session by phase."""
        return phase_words(self.plan.timeline)

    @property
    def drifts(self) -> Sequence[str]:
        """What becomes of the developer's temperature in each vessel, each said once."""
        said = [(part.vessel.code, part.drift.says) for part in self.parts]
        if not self.is_pair:
            return list(dict.fromkeys(says for _, says in said))
        return list(dict.fromkeys(f"{code}: {says}" for code, says in said))

    @property
    def used_ml(self) -> int:
        """Gone for good in all: stock that is drawn, and what the film takes along."""
        return round(self.manner.counts.used_ul / UL_PER_ML)

    @property
    def crowding(self) -> str:
        """What is risked where more sheets share a load than develop evenly."""
        said = [
            f"{part.loading.sheets_per_load} sheets a load in {part.vessel.code}, "
            f"{part.crowded} more than develop evenly"
            for part in self.parts
            if part.crowded
        ]
        if not said:
            return ""
        return f"{'; '.join(said)}: sheets may touch, and may come out uneven."

    @property
    def failing(self) -> list[str]:
        """Why other bottles of the right kind do not serve."""
        return [sentence for choice in self.baths for sentence in choice.failing]

    @property
    def to_mix(self) -> list[BathChoice]:
        """Steps that no bottle on the shelf serves."""
        return [choice for choice in self.baths if choice.best is None]


def _sheets(count: int) -> str:
    return "1 sheet" if count == 1 else f"{count} sheets"
