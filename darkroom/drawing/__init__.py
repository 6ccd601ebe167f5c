"""The numbers of the drawings: plain values in, plain values out, no Django."""

from darkroom.drawing.rule import Tick, WearRule, wear_rule
from darkroom.drawing.states import STATES, State, state_of
from darkroom.drawing.strip import PHASE_WORDS, Lane, Phase, Strip, day_strip
from darkroom.drawing.vessel import SHAPES, Waterline, waterline

__all__ = [
    "PHASE_WORDS",
    "SHAPES",
    "STATES",
    "Lane",
    "Phase",
    "State",
    "Strip",
    "Tick",
    "Waterline",
    "WearRule",
    "day_strip",
    "state_of",
    "wear_rule",
    "waterline",
]
