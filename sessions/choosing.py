"""Every way to do it: in one vessel, crowded, or in two that take turns; and what beats what."""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from dataclasses import dataclass, replace
from decimal import Decimal
from itertools import starmap

from darkroom.models import Equipment, VesselAgitation
from sessions.admission import lack_for_piece
from sessions.errors import Unsuitable
from sessions.means import Means
from sessions.planner import Part, Planner
from sessions.planning.combining import Candidate, Seat, Share, counts_of, pairs
from sessions.planning.options import Counts, unbeaten
from sessions.planning.timeline import LoadMinutes, wet_s

Place = tuple[Equipment, VesselAgitation]

INDUCTION = "induction"
"""Why a vessel that could take the sheets is not open to the member."""


@dataclass(frozen=True)
class Refused:
    """A vessel that cannot take the sheets, and why."""

    vessel: Equipment
    agitation: VesselAgitation | None
    code: str
    sentence: str


@dataclass(frozen=True)
class Manner:
    """One way to do it. ``is_unbeaten``: no other one is better, on any count, for nothing."""

    parts: tuple[Part, ...]
    counts: Counts
    is_unbeaten: bool = False

    @property
    def places(self) -> list[Place]:
        """Each vessel once, the one that begins first."""
        found = {part.vessel.pk: (part.vessel, part.agitation) for part in self.parts}
        return list(found.values())

    @property
    def is_crowded(self) -> bool:
        return self.counts.crowded > 0

    @property
    def says(self) -> str:
        """In a line: who takes how many, in what, how long."""
        shares = ", ".join(
            f"{part.line.sheets} in {part.vessel.code} ({part.loading.load_ml} mL)"
            for part in self.parts
        )
        return f"{shares}: {_loads(self.parts)} loads, {self.counts.attended_s // 60} minutes."

    @property
    def key(self) -> str:
        """Names the manner in an address, as long as the question stays the same."""
        named = "+".join(f"{vessel.code}:{how.agitation}" for vessel, how in self.places)
        if self.is_crowded:
            return f"{named}:crowded"
        if len(self.places) == 1:
            return named
        return f"{named}/{'.'.join(str(part.line.sheets) for part in self.parts)}"


class Choosing:
    """What the vessels of the house come to for one question."""

    def __init__(self, means: Means) -> None:
        self.means = means
        self.planner = Planner(means)

    def alone(
        self, vessel: str | None = None, agitation: str | None = None
    ) -> tuple[list[Manner], list[Refused]]:
        """Each vessel by itself with the advised sheets a load; of the others why not."""
        manners: list[Manner] = []
        refused: list[Refused] = []
        for place in self._places(vessel, agitation, refused):
            try:
                manner = self._manner(self.planner.alone(*place))
            except Unsuitable as reason:
                refused.append(Refused(*place, reason.code, reason.sentence))
                continue
            lack = lack_for_piece(self.means.inducted, place[0], until=self.means.at)
            if lack is None:
                manners.append(manner)
            else:
                refused.append(Refused(*place, INDUCTION, lack.sentence))
        return manners, refused

    def crowded(self, advised: Iterable[Manner]) -> list[Manner]:
        """Each vessel with all its positions used, where that saves a load."""
        loads = {manner.key: _loads(manner.parts) for manner in advised}
        found = []
        for place in self._places(None, None, []):
            if not self.means.inducted.covers(place[0].topic_id, until=self.means.at):
                continue
            try:
                manner = self._manner(self.planner.alone(*place, is_crowded=True))
            except Unsuitable:
                continue
            usual = loads.get(f"{place[0].code}:{place[1].agitation}")
            if manner.is_crowded and (usual is None or _loads(manner.parts) < usual):
                found.append(manner)
        return found

    def in_pairs(self) -> list[Manner]:
        """Every two vessels taking turns, divided so that no other division between them is
        better."""
        shares = _Shares(self.planner)
        sheets = [line.sheets for line in self.means.ask.lines]
        found = pairs(shares.places, sheets, shares.share, self.planner.frame)
        return [Manner(shares.parts(one), one.counts) for one in found]

    def _places(
        self, vessel: str | None, agitation: str | None, refused: list[Refused]
    ) -> Iterable[Place]:
        wanted = agitation or self.means.ask.agitation
        for piece in self.means.equipment:
            if not piece.is_vessel or vessel not in {None, piece.code}:
                continue
            ways = [way for way in piece.agitations.all() if wanted in {"", way.agitation}]
            if not ways:
                refused.append(Refused(piece, None, "agitation", "It is not agitated that way."))
            for way in ways:
                yield piece, way

    def _manner(self, parts: Sequence[Part]) -> Manner:
        seat = Seat(parts[0].vessel.pk, parts[0].agitation.agitation)
        shares = tuple((_share(self.planner, part),) for part in parts)
        return Manner(tuple(parts), counts_of((seat,), shares, self.planner.frame))


def marked(manners: Sequence[Manner]) -> list[Manner]:
    """The same, those that nothing beats marked."""
    marks = unbeaten([manner.counts for manner in manners])
    return [replace(m, is_unbeaten=mark) for m, mark in zip(manners, marks, strict=True)]


class _Shares:
    """What each vessel's share of each line comes to; worked out once."""

    def __init__(self, planner: Planner) -> None:
        self.planner = planner
        self.found: dict[Seat, Place] = {
            Seat(vessel.pk, how.agitation): (vessel, how)
            for vessel in planner.means.equipment
            if vessel.is_vessel and vessel.is_in_service
            if planner.means.inducted.covers(vessel.topic_id, until=planner.means.at)
            for how in vessel.agitations.all()
            if planner.means.ask.agitation in {"", how.agitation}
        }
        self.known: dict[tuple[Seat, int, int], Part | None] = {}
        self.shares: dict[tuple[Seat, int, int], Share | None] = {}
        lines = planner.means.ask.lines
        areas = [line.area_mm2 for line in lines]
        self.before = [sum(areas[:n], Decimal(0)) for n in range(len(lines))]

    @property
    def places(self) -> list[Seat]:
        return list(self.found)

    def share(self, seat: Seat, line: int, sheets: int) -> Share | None:
        key = (seat, line, sheets)
        if key not in self.shares:
            part = self._part(*key)
            self.shares[key] = None if part is None else _share(self.planner, part)
        return self.shares[key]

    def parts(self, candidate: Candidate) -> tuple[Part, ...]:
        """Line by line, the vessel that begins first."""
        asked = (
            (seat, line, sheets)
            for line, given in enumerate(candidate.sheets)
            for seat, sheets in zip(candidate.seats, given, strict=True)
            if sheets
        )
        return tuple(part for part in starmap(self._part, asked) if part is not None)

    def _part(self, seat: Seat, line: int, sheets: int) -> Part | None:
        key = (seat, line, sheets)
        if key not in self.known:
            asked = replace(self.planner.means.ask.lines[line], sheets=sheets)
            try:
                self.known[key] = self.planner.part(
                    asked, *self.found[seat], self.before[line], after_all=True
                )
            except Unsuitable:
                self.known[key] = None
        return self.known[key]


def _share(planner: Planner, part: Part) -> Share:
    load = LoadMinutes(part.vessel.pk, planner.steps_min(part))
    return Share(
        sheets=part.line.sheets,
        loads=part.loading.loads,
        load_ml=part.loading.load_ml,
        used_ul=part.used_ul,
        wet_s=wet_s(load.steps_s),
        drift_c=part.drift.worst_c,
        crowded=part.crowded,
    )


def _loads(parts: Iterable[Part]) -> int:
    return sum(part.loading.loads for part in parts)
