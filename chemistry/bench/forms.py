from __future__ import annotations

from typing import Any

from django import forms

from chemistry.bench.house import Bench


class BenchForm(forms.Form):
    """The figures of one sum, read from the address of its page.

    ``alternatives``: fields of which some are left empty, but not as one likes.
    """

    use_required_attribute = False
    alternatives: tuple[str, ...] = ()

    def __init__(self, data: Any = None, *, bench: Bench) -> None:
        super().__init__(data)
        self.offer(bench)
        for name, field in self.fields.items():
            field.is_optional = not field.required and name not in self.alternatives  # type: ignore[attr-defined]
            self._describe(name)

    def offer(self, bench: Bench) -> None:
        """Put in what the house has: its own figures, and what there is to choose."""

    def set_aside_missing(self) -> list[str]:
        """Take away the complaints about what is still to be written; the labels of those."""
        missing = [name for name in self.fields if self.has_error(name, "required")]
        for name in missing:
            del self.errors[name]
        return [str(self.fields[name].label) for name in missing]

    def _describe(self, name: str) -> None:
        """Help and error have their place from the start: an error may come in later alone."""
        field, auto_id = self.fields[name], self[name].auto_id
        described = [f"{auto_id}_helptext"] if field.help_text else []
        field.widget.attrs["aria-describedby"] = " ".join([*described, f"{auto_id}_slot"])
