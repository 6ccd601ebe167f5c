"""A fault as it is reported from the phone, and what became of it."""

from __future__ import annotations

from django import forms

from chemistry.forms.fields import KeyedForm, words_field
from sessions.faults import MOST_WORDS


class FaultForm(KeyedForm):
    seen = words_field("What did you see?", MOST_WORDS)
    better_not_used = forms.BooleanField(
        label="It had better not be used",
        required=False,
        help_text="Whoever has it booked reads so. A steward decides whether it goes out of "
        "service.",
    )


class ResolveForm(KeyedForm):
    resolution = words_field("What was done", MOST_WORDS, help_text="It stays with the piece.")
