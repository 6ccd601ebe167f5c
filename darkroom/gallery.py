"""Sample data for the page that shows every component once, for those who customise."""

from datetime import datetime, timedelta
from typing import Any

from django import forms
from django.utils import timezone

from darkroom.drawing import STATES, Lane, Phase


class SampleForm(forms.Form):
    sheets = forms.IntegerField(
        min_value=1, label="How many sheets", help_text="All of one film and one time."
    )
    temperature = forms.DecimalField(label="Read in the tank", required=False)
    vessel = forms.ChoiceField(
        label="In what",
        choices=[("", "Choose"), ("tank", "Daylight tank 1"), ("drum", "Rocked drum")],
    )
    returned = forms.ChoiceField(
        label="Back to the mark?",
        widget=forms.RadioSelect,
        choices=[("full", "To the mark"), ("short", "Short of it"), ("gone", "Poured out")],
    )
    note = forms.CharField(label="Anything odd", widget=forms.Textarea, required=False)
    agreed = forms.BooleanField(label="I have seen the cautions", required=False)


def sample_form() -> SampleForm:
    """A form sent with one impossible figure, so that its error shows."""
    return SampleForm({"sheets": "0", "temperature": "20.5", "vessel": "drum", "returned": "short"})


BOTTLES: tuple[dict[str, Any], ...] = (
    {
        "code": "D-7",
        "name": "Replenished developer",
        "url": "#D-7",
        "state": "owed",
        "kind": "tank",
        "volume_ml": 4760,
        "capacity_ml": 5000,
        "used_au": 9.5,
        "limit_au": 20,
        "promised_au": 4,
        "wear_word": "owed",
        "says": "240 mL of replenisher are owed; with Thursday's sheets it will be 340 mL.",
    },
    {
        "code": "F-3",
        "name": "Film fixer",
        "url": "#F-3",
        "state": "low",
        "kind": "bottle",
        "volume_ml": 1460,
        "capacity_ml": 2000,
        "used_au": 16.25,
        "limit_au": 24,
        "promised_au": 5,
        "low_au": 16,
        "says": "11 sheets of 4×5 left after what is promised, good until 12 December.",
    },
    {
        "code": "S-1",
        "name": "Stop bath",
        "url": "#S-1",
        "state": "fresh",
        "kind": "bottle",
        "volume_ml": 1000,
        "capacity_ml": 1000,
        "used_au": 2,
        "limit_au": 18,
        "says": "64 sheets of 4×5 left, good until 3 January.",
    },
    {
        "code": "F-2",
        "name": "Film fixer",
        "url": "#F-2",
        "state": "spent",
        "kind": "bottle",
        "volume_ml": 1900,
        "capacity_ml": 2000,
        "used_au": 25.5,
        "limit_au": 24,
        "says": "Spent: pour out 1.9 L into the fixer drum.",
    },
    {
        "code": "D-4",
        "name": "Reused developer",
        "url": "#D-4",
        "state": "stopped",
        "kind": "bottle",
        "volume_ml": 420,
        "capacity_ml": 1000,
        "used_au": 4,
        "limit_au": 10,
        "says": "Stopped by a member on Tuesday: the last negatives came out thin.",
    },
    {
        "code": "D-5",
        "name": "Stock developer",
        "url": "#D-5",
        "state": "not_yet_usable",
        "kind": "bottle",
        "volume_ml": 60,
        "capacity_ml": 1000,
        "says": "Mixed this morning; to be used from 18:00.",
    },
)

STEPS: tuple[dict[str, Any], ...] = (
    {
        "bath": "Developer",
        "bottle": "D-7",
        "bottle_url": "#D-7",
        "minutes": 8.5,
        "temp_c": 20.5,
        "temp_within": 0.5,
        "volume_ml": 500,
        "is_dark": True,
        "agitation": "First half minute without a pause, then five seconds every half minute.",
        "factors": (
            {
                "says": "9:00 at 20 °C from the printed row",
                "source": "Sample sheet, table 2",
                "standing": "read",
            },
            {
                "says": "× 0.94 for 20.5 °C",
                "source": "Fitted to the same row",
                "standing": "computed",
            },
        ),
    },
    {
        "bath": "Stop",
        "bottle": "S-1",
        "bottle_url": "#S-1",
        "minutes": 0.5,
        "temp_c": 20,
        "temp_within": 2,
        "volume_ml": 500,
        "state": "fresh",
        "agitation": "Without a pause.",
    },
    {
        "bath": "Fixer",
        "bottle": "F-3",
        "bottle_url": "#F-3",
        "minutes": 6,
        "temp_c": 20,
        "temp_within": 2,
        "volume_ml": 500,
        "state": "low",
        "agitation": "Twice the clearing time; light after two minutes.",
        "caution": "Gloves and goggles. Follow the safety data sheet on the shelf.",
    },
)


def sample_lanes(day: datetime) -> tuple[Lane, ...]:
    """One day of four pieces of equipment; ``day`` is its midnight."""

    def phase(kind: str, start: float, hours: float, **facts: Any) -> Phase:
        starts_at = day + timedelta(hours=start)
        return Phase(kind, starts_at, starts_at + timedelta(hours=hours), **facts)

    return (
        Lane("Loading booth", (phase("dark", 10, 0.5, says="Ines"), phase("dark", 17.5, 0.5))),
        Lane(
            "Rocked drum",
            (
                phase("wet", 10.5, 1, says="Ines, 4 sheets"),
                phase("wet", 18, 1.5, says="You, 6 sheets", is_mine=True, url="#visit"),
            ),
        ),
        Lane(
            "Tempering bath",
            (
                phase("warm", 9, 1.5),
                phase("closed", 13, 2, says="Calibration"),
                phase("warm", 17, 1, is_mine=True),
            ),
        ),
        Lane(
            "Sink, left bay",
            (
                phase("wash", 11.5, 0.75, says="Ines"),
                phase("free", 14, 3, says="Free", url="#free"),
                phase("wash", 19.5, 0.5, is_mine=True),
            ),
        ),
        Lane("Peg row", (phase("dry", 12.25, 3, says="Ines"), phase("dry", 20, 2, says="You"))),
    )


def gallery_context(now: datetime | None = None) -> dict[str, Any]:
    """Everything ``darkroom/components.html`` shows."""
    midnight = timezone.localtime(now or timezone.now()).replace(
        hour=0, minute=0, second=0, microsecond=0
    )
    return {
        "bottles": BOTTLES,
        "states": tuple(STATES),
        "steps": STEPS,
        "sample_form": sample_form(),
        "lanes": sample_lanes(midnight),
        "opens_at": midnight + timedelta(hours=9),
        "closes_at": midnight + timedelta(hours=22),
        "at": midnight + timedelta(hours=15, minutes=20),
        "streams": ["Stream", "#Opening", "#In", "#Out", "#Loss", "#Closing"],
        "stream_rows": [
            ["Fixer with silver", "12 400", "8 150", "10 000", "35", "10 515"],
            ["Developer, alkaline", "3 200", "6 740", "0", "12", "9 928"],
        ],
        "stream_foot": ["Together, mL", "15 600", "14 890", "10 000", "47", "20 443"],
    }
