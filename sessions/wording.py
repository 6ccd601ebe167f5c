"""Refusals of bottles and vessels in words that say what is the matter, not which rule it broke."""

from __future__ import annotations

from decimal import ROUND_CEILING, Decimal

from chemistry.science.area import AU_MM2
from chemistry.volumes import ml_text
from darkroom.models import Equipment
from sessions.asking import AskLine
from sessions.planning.options import CannotTake
from sessions.planning.promises import Failure
from sessions.planning.timeline import BATH, BOOTH, CLEAN, PEGS, SINK, WET, Timeline


def failure_sentence(code: str, failure: Failure, *, is_own: bool) -> str:
    """Why this bottle cannot keep the promise; ``is_own`` False: it would let down another one."""
    said = _failure_said(code, failure)
    if is_own:
        return said
    return f"A session that is already booked would be let down: {said}"


def _failure_said(code: str, failure: Failure) -> str:
    match failure.code:
        case "volume":
            left, asked = int(failure.value), int(failure.limit)
            return f"{code} has {ml_text(left)} to give then, and {ml_text(asked)} are needed."
        case "spent":
            # More than all of it, however little more, never reads as 100 %.
            pct = max(round(failure.value * 100), 101)
            return f"{code} would be used to {pct} % of its capacity."
        case "arrears":
            return f"{code} would be owed more replenisher than it may be, {_au_per_l(failure)}."
        case "area_limit":
            return f"{code} would have taken more film than it may, {_au_per_l(failure)}."
        case _:
            return f"{code} {SAYINGS[failure.code]}."


def _au_per_l(failure: Failure) -> str:
    value, limit = failure.value / AU_MM2, failure.limit / AU_MM2
    return f"for {_short(value)} instead of {_short(limit)} times 80 in² a litre"


def _short(value: Decimal) -> str:
    return f"{value:.1f}".removesuffix(".0")


SAYINGS = {
    "discarded": "has been poured out",
    "stopped": "is stopped",
    "private": "belongs to another member",
    "not_yet": "is not usable yet at that time",
    "out_of_date": "will be out of date by then",
    "class": "has no capacity entered for this kind of film",
    "turnover": "has been topped up as often as it may be",
}


def vessel_sentence(refusal: CannotTake, vessel: Equipment, line: AskLine) -> str:
    """Why this vessel cannot take the sheets, and what would do."""
    match refusal.code:
        case "out_of_service":
            return f"It is out of service: {vessel.out_reason.rstrip('.')}."
        case "format":
            takes = [str(fit.format) for fit in vessel.fits.all()]
            made_for = f" It is made for {' and '.join(takes)}." if takes else ""
            return f"It takes no {line.format}.{made_for}"
        case "temperature":
            return (
                f"{line.film.process} has to be held at its temperature, and this vessel cannot do "
                "that. Choose one that is heated or stands in a bath."
            )
        case "loads":
            return (
                f"It would take {refusal.value} loads; a session has at most {refusal.limit}. "
                "Bring fewer sheets."
            )
        case _:
            return _volume_sentence(refusal, line)


def _volume_sentence(refusal: CannotTake, line: AskLine) -> str:
    needed = f"{Decimal(refusal.value).to_integral_value(rounding=ROUND_CEILING):f}"
    if not refusal.bath:
        return f"It needs {needed} mL and holds {refusal.limit} mL when agitated like this."
    return (
        f"One sheet of {line.format} asks for {needed} mL of {refusal.bath.lower()}; it holds "
        f"{refusal.limit} mL. A stronger solution or a larger vessel would do."
    )


def phase_words(line: Timeline) -> str:
    """The session's minutes by phase; loading that lies within wet steps counts in both."""
    spans = [(need.kind, span) for need in line.needs for span in need.spans]

    def minutes(kind: str, *phases: str) -> int:
        found = (s for k, s in spans if k == kind and (not phases or s.phase in phases))
        return sum(span.ends_s - span.starts_s for span in found) // 60

    warm = next((s.ends_s // 60 for kind, s in spans if kind == BATH), 0)
    parts = [
        (warm, "warming up"),
        (minutes(BOOTH), "loading in the dark"),
        (minutes(SINK, WET), "from first pour to last"),
        (minutes(SINK, CLEAN), "clearing away"),
    ]
    said = ", ".join(f"{count} {words}" for count, words in parts if count)
    drying = minutes(PEGS)
    return f"Minutes: {said}{f'; the film hangs for {drying}' if drying else ''}."
