"""From what stands in the address of a page to an answer, or to what keeps it from one."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass

from chemistry.bench.answers import Answer, Outside, Refused, outside_says
from chemistry.bench.forms import BenchForm
from chemistry.bench.house import Bench
from chemistry.bench.sum import Sum
from chemistry.science.errors import OutOfRange
from darkroom.forms import show_refusal


@dataclass(frozen=True)
class Worked:
    """``missing``: labels of fields that are still empty, where that is no mistake yet."""

    form: BenchForm
    answer: Answer | None
    missing: tuple[str, ...] = ()

    @property
    def is_refused(self) -> bool:
        return bool(self.form.errors)


def blank(one: Sum, bench: Bench) -> Worked:
    return Worked(one.form(bench=bench), None)


def work_out(
    one: Sum, figures: Mapping[str, str], bench: Bench, *, is_typing: bool = False
) -> Worked:
    """The answer; or the form with what is wrong, each beside its field."""
    form = one.form(figures, bench=bench)
    if not form.is_valid():
        return Worked(form, None, tuple(form.set_aside_missing()) if is_typing else ())
    try:
        return Worked(form, one.solve(form.cleaned_data, bench))
    except Refused as refusal:
        show_refusal(form, refusal)
    except OutOfRange as error:
        _show_outside(one, form, error)
    return Worked(form, None)


def _show_outside(one: Sum, form: BenchForm, error: OutOfRange) -> None:
    place = one.outside.get(error.name, Outside("", ""))
    field = form.fields.get(place.field)
    sentence = f"{outside_says(error, getattr(field, 'unit', ''))} {place.instead}"
    form.add_error(place.field if field else None, sentence.strip())
