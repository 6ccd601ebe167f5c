"""The form that records a run. It comes filled from the plan; only differences are typed."""

from __future__ import annotations

from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass
from decimal import Decimal
from typing import Any

from django import forms
from django.forms import BoundField

from chemistry.forms.fields import HappenedForm, VolumeField, words_field
from chemistry.models import Batch, Film, Process, ProcessStep, Role
from darkroom.models import Agitation, Equipment, Format, Member
from sessions import bottles
from sessions.bottles import Bottle
from sessions.forms.fields import DegreesField, MinutesField, MissingField
from sessions.models import Session, SessionLine
from sessions.recording import BathDraft, RunDraft

WATER, LEFT_OUT = "water", "none"
PARTS = ("bottle", "code", "minutes", "temp_c", "short_ml")
"""What is asked of each step."""

MOST_SHEETS = 500


@dataclass(frozen=True)
class StepFill:
    """What a step's fields show at first. ``bottle`` is a code, plain water or left out."""

    step: ProcessStep
    bottle: str
    minutes: Decimal | None
    temp_c: Decimal | None


@dataclass(frozen=True)
class StepFields:
    """One step's fields, for the page."""

    step: ProcessStep
    bottle: BoundField
    code: BoundField
    minutes: BoundField
    temp_c: BoundField
    short_ml: BoundField

    @property
    def needs_more(self) -> bool:
        """Whether the folded fields hold something that must be seen."""
        folded = (self.code, self.minutes, self.temp_c, self.short_ml)
        is_told = self.code.value() or self.short_ml.value() or not self.minutes.value()
        return bool(is_told) or any(field.errors for field in folded)

    @property
    def says(self) -> str:
        """The folded figures in short."""
        figures = [f"{self.minutes.value()} min"] if self.minutes.value() else []
        figures += [f"{self.temp_c.value()} °C"] if self.temp_c.value() else []
        return ", ".join(figures) or "Time and temperature"


class RecordForm(HappenedForm):
    """One load of a session: what was planned, unless said otherwise."""

    # A step that was left out needs no time, which the browser cannot know.
    use_required_attribute = False

    sheets = forms.IntegerField(min_value=1, max_value=MOST_SHEETS, label="Sheets in this load")
    poured_ml = VolumeField(label="Solution in the vessel", help_text="The same for every bath.")
    line = forms.IntegerField(widget=forms.HiddenInput)
    note = words_field(
        "Anything odd", 500, required=False, widget=forms.Textarea(attrs={"rows": 2})
    )
    is_last = forms.BooleanField(
        required=False,
        label="That was the last load of this session",
        help_text="What the session still holds is given back to the others.",
    )
    is_really_so = forms.BooleanField(required=False, label="It really was so")

    def __init__(
        self,
        *args: Any,
        fills: Sequence[StepFill],
        shelf: Sequence[Bottle],
        by: Member,
        lines: Iterable[SessionLine] = (),
        **kwargs: Any,
    ) -> None:
        super().__init__(*args, **kwargs)
        self.by = by
        self.lines = {line.pk: line for line in lines}
        self.steps = [fill.step for fill in fills]
        self.asks_really = False
        for fill in fills:
            self._add_step(fill, shelf)

    def step_fields(self) -> list[StepFields]:
        return [
            StepFields(step, *(self[f"{part}_{step.pk}"] for part in PARTS)) for step in self.steps
        ]

    def clean_line(self) -> SessionLine:
        pk: int = self.cleaned_data["line"]
        if pk not in self.lines:
            raise forms.ValidationError("This is not a part of the session.")
        return self.lines[pk]

    def clean(self) -> dict[str, Any]:
        super().clean()
        found = self._batches()
        odd: list[str] = []
        for step in self.steps:
            self._clean_step(step, found, odd)
        if odd and not self.cleaned_data.get("is_really_so"):
            self.asks_really = True
            self.add_error("is_really_so", " ".join(odd) + " If it really was so, tick this.")
        return self.cleaned_data

    def baths(self) -> tuple[BathDraft, ...]:
        """The steps that were done, in order."""
        got = self.cleaned_data
        return tuple(
            BathDraft(
                step=step,
                batch=got[f"batch_{step.pk}"],
                poured_ul=got["poured_ml"],
                minutes=got[f"minutes_{step.pk}"],
                temp_c=got[f"temp_c_{step.pk}"],
                short_ul=got[f"short_ml_{step.pk}"] or 0,
            )
            for step in self.steps
            if not got[f"is_left_out_{step.pk}"]
        )

    def draft(self, visit: Session) -> RunDraft:
        got = self.cleaned_data
        line: SessionLine = got["line"]
        vessel, agitation = line.seat_in(visit)
        return RunDraft(
            process=visit.process,
            vessel=vessel,
            agitation=agitation,
            film=line.film,
            index=line.index,
            format=line.format,
            sheets=got["sheets"],
            happened_at=got["happened_at"],
            baths=self.baths(),
            visit=visit,
            note=got["note"],
            is_last=got["is_last"],
        )

    def _add_step(self, fill: StepFill, shelf: Sequence[Bottle]) -> None:
        pk = fill.step.pk
        self.fields[f"bottle_{pk}"] = forms.CharField(
            label="Poured from",
            max_length=20,
            initial=fill.bottle,
            error_messages={"required": "Say which bottle was used."},
            widget=forms.Select(choices=_choices(fill, shelf)),
        )
        self.fields[f"code_{pk}"] = forms.CharField(
            label="Or the code on the bottle",
            max_length=12,
            required=False,
            widget=forms.TextInput(attrs={"autocomplete": "off", "autocapitalize": "characters"}),
        )
        self.fields[f"minutes_{pk}"] = MinutesField(
            label="Time",
            initial=fill.minutes,
            error_messages={"required": "Say how long it took, or that it was left out."},
        )
        self.fields[f"temp_c_{pk}"] = DegreesField(
            label="Temperature", initial=fill.temp_c, required=False
        )
        self.fields[f"short_ml_{pk}"] = MissingField(
            label="Short of the mark",
            required=False,
            help_text="Leave it empty if the bottle went back to its mark.",
        )

    def _batches(self) -> Mapping[str, Batch]:
        """Every bottle named in the form, open or not, as far as this member may know of it."""
        codes = {code for step in self.steps if (code := self._code(step))}
        visible = bottles.visible_to(self.by).select_related("way__version__recipe")
        return {batch.code: batch for batch in visible.filter(code__in=codes)}

    def _code(self, step: ProcessStep) -> str:
        typed = self.cleaned_data.get(f"code_{step.pk}") or ""
        chosen = self.cleaned_data.get(f"bottle_{step.pk}") or ""
        return typed.strip().upper() or chosen.strip()

    def _clean_step(self, step: ProcessStep, found: Mapping[str, Batch], odd: list[str]) -> None:
        pk, code = step.pk, self._code(step)
        batch = found.get(code)
        self.cleaned_data[f"batch_{pk}"] = batch
        self.cleaned_data[f"is_left_out_{pk}"] = code == LEFT_OUT
        if code == LEFT_OUT:
            for part in PARTS:
                self.errors.pop(f"{part}_{pk}", None)
            return
        if code and batch is None and code != WATER:
            field = "code" if self.cleaned_data.get(f"code_{pk}") else "bottle"
            self.add_error(f"{field}_{pk}", f"No bottle is called {code}.")
        elif code:
            self.errors.pop(f"bottle_{pk}", None)
        self._check_short(step)
        if batch is not None:
            self._check_bottle(step, batch, odd)

    def _check_short(self, step: ProcessStep) -> None:
        short, poured = (
            self.cleaned_data.get(name) for name in (f"short_ml_{step.pk}", "poured_ml")
        )
        if short and poured and short > poured:
            self.add_error(f"short_ml_{step.pk}", "No more can be missing than was poured.")

    def _check_bottle(self, step: ProcessStep, batch: Batch, odd: list[str]) -> None:
        happened_at = self.cleaned_data.get("happened_at")
        if happened_at is not None and happened_at < batch.mixed_at:
            self.add_error(
                f"bottle_{step.pk}", f"{batch.code} was mixed only after that; check code and time."
            )
        recipe = batch.way.version.recipe
        if recipe.role == step.role and not step.takes(recipe):
            odd.append(
                f"{batch.code} is {recipe.get_reaction_display().lower()}, and “{step.name}” here "
                f"is {step.get_reaction_display().lower()}."
            )
        if recipe.role != step.role:
            odd.append(
                f"{batch.code} is a {recipe.get_role_display().lower()}, poured for “{step.name}”."
            )


class LooseRecordForm(RecordForm):
    """A run that was not booked: it also says what was run, and in what."""

    vessel = forms.ChoiceField(label="In what")
    film = forms.ChoiceField(label="Film")
    index = forms.IntegerField(min_value=1, max_value=100_000, label="Exposure index")
    size = forms.ChoiceField(label="Format")

    def __init__(
        self,
        *args: Any,
        vessels: Iterable[tuple[Equipment, str]],
        films: Iterable[Film],
        sizes: Iterable[Format],
        **kwargs: Any,
    ) -> None:
        super().__init__(*args, **kwargs)
        del self.fields["is_last"], self.fields["line"]
        self.vessels = {f"{vessel.pk}:{how}": (vessel, how) for vessel, how in vessels}
        self.films = {str(film.pk): film for film in films}
        self.sizes = {str(size.pk): size for size in sizes}
        self._offer(
            "vessel", {k: f"{v}, {Agitation(a).label}" for k, (v, a) in self.vessels.items()}
        )
        self._offer("film", {key: str(film) for key, film in self.films.items()})
        self._offer("size", {key: str(size) for key, size in self.sizes.items()})

    def loose_draft(self, process: Process) -> RunDraft:
        got = self.cleaned_data
        vessel, agitation = self.vessels[got["vessel"]]
        return RunDraft(
            process=process,
            vessel=vessel,
            agitation=agitation,
            film=self.films[got["film"]],
            index=got["index"],
            format=self.sizes[got["size"]],
            sheets=got["sheets"],
            happened_at=got["happened_at"],
            baths=self.baths(),
            note=got["note"],
        )

    def _offer(self, name: str, labels: Mapping[str, str]) -> None:
        field = self.fields[name]
        assert isinstance(field, forms.ChoiceField)
        field.choices = [("", "Choose"), *labels.items()]


def _choices(fill: StepFill, shelf: Sequence[Bottle]) -> list[tuple[str, str]]:
    """The bottles of the step's role, the usable ones first, then water and nothing."""
    fitting = [bottle for bottle in shelf if bottle.role == fill.step.role]
    fitting.sort(key=lambda bottle: (not bottle.verdict.is_usable, bottle.batch.code))
    offered = [(b.batch.code, f"{b.batch.code}, {b.condition.label.lower()}") for b in fitting]
    if fill.bottle and fill.bottle not in {WATER, LEFT_OUT, *(code for code, _ in offered)}:
        offered.insert(0, (fill.bottle, fill.bottle))
    nothing = [] if fill.step.role == Role.WATER else [("", "Choose the bottle")]
    return [*nothing, *offered, (WATER, "Plain water"), (LEFT_OUT, "Left out")]
