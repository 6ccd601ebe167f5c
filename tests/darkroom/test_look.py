import re
from decimal import Decimal
from pathlib import Path

import pytest
from django import forms
from django.template import Context, Template
from django.template.loader import render_to_string
from django.test import RequestFactory

from darkroom.context import PLACES, look, theme_of
from darkroom.gallery import gallery_context
from darkroom.templatetags.look import clock, number, short

FOLDER = Path(__file__).parents[2] / "darkroom" / "static" / "darkroom"


def rendered(source: str, **context: object) -> str:
    return Template("{% load look %}" + source).render(Context(context))


@pytest.mark.parametrize(
    ("value", "places", "shown"),
    [
        (1460, None, "1\u00a0460"),
        (Decimal("12.50"), None, "12.5"),
        (-3, None, "\u22123"),
        (Decimal("2.25"), 1, "2.3"),
        (7, 1, "7.0"),
        (0, None, "0"),
        (100, None, "100"),
        (None, None, "–"),
    ],
)
def test_number_is_set_for_reading(value: object, places: int | None, shown: str) -> None:
    assert number(value, places) == shown


@pytest.mark.parametrize(
    ("minutes", "shown"), [(7.5, "7:30"), (0.5, "0:30"), (Decimal("8.999"), "9:00"), (61, "61:00")]
)
def test_clock_shows_minutes_and_seconds(minutes: float, shown: str) -> None:
    assert clock(minutes) == shown


def test_gallery_keeps_to_the_strict_policy() -> None:
    page = render_to_string("darkroom/components.html", gallery_context())

    assert re.findall(r"<[^>]*\sstyle=|\son[a-z]+=|<style|<script(?![^>]*\ssrc=)", page) == []


def test_gallery_points_only_at_hatches_that_exist() -> None:
    page = render_to_string("darkroom/components.html", gallery_context())

    wanted = set(re.findall(r"url\(#([a-z-]+)\)", page))
    assert wanted
    assert wanted <= set(re.findall(r'<pattern id="([a-z-]+)"', page))


def test_icons_in_use_are_drawn() -> None:
    page = render_to_string("darkroom/components.html", gallery_context())
    names = set(re.findall(r"icons[^\"#]*\.svg#([a-z-]+)", page))

    drawn = set(re.findall(r'id="([a-z-]+)"', (FOLDER / "icons.svg").read_text()))
    assert names
    assert names | {place.icon for place in PLACES} <= drawn


@pytest.mark.parametrize(
    ("call", "says"),
    [
        ("17.2 25", "7.8 short of 25 mL"),
        ("25 25", "full to the mark"),
        ('21.8 25 limit=22.5 unit="L"', "room for 0.7 L"),
        ('23 25 limit=22.5 unit="L"', "room for 0 L"),
    ],
)
def test_waterline_says_what_is_missing(call: str, says: str) -> None:
    assert says in rendered(f"{{% waterline {call} %}}")


@pytest.mark.parametrize(
    ("limit", "says"), [("11.655", "11.6"), ("47.88", "47.8"), ("1.4437", "1.44"), ("60", "60")]
)
def test_wear_rule_writes_its_limit_short_and_never_too_high(limit: str, says: str) -> None:
    shown = rendered(f"{{% wear_rule 1 {limit} %}}")

    assert f"1</b> of {says} units of 80 in² used" in shown


@pytest.mark.parametrize(
    ("value", "shown"),
    [("13.3333", "13.33"), ("0.0125", "0.0125"), ("20.0000", "20"), ("7.5", "7.5")],
)
def test_a_figure_is_shown_as_short_as_it_is_known(value: str, shown: str) -> None:
    assert short(Decimal(value)) == shown


class Sheets(forms.Form):
    sheets = forms.IntegerField(min_value=1, help_text="All of one film.")


def test_field_keeps_what_was_typed_and_says_what_is_wrong() -> None:
    html = rendered('{% field form.sheets unit="sheets" %}', form=Sheets({"sheets": "0"}))

    assert 'value="0"' in html
    assert 'aria-describedby="id_sheets_helptext id_sheets_error"' in html
    assert 'id="id_sheets_helptext"' in html
    assert 'id="id_sheets_error"' in html


def test_field_escapes_what_was_typed() -> None:
    html = rendered("{% field form.sheets %}", form=Sheets({"sheets": '"><b>'}))

    assert "<b>" not in html


def test_table_refuses_a_row_of_another_length() -> None:
    with pytest.raises(ValueError, match="zip"):
        rendered("{% table columns rows %}", columns=["Stream", "#In"], rows=[["Fixer"]])


def test_table_marks_its_number_columns() -> None:
    html = rendered("{% table columns rows %}", columns=["Stream", "#In"], rows=[["Fixer", 5]])

    assert '<td class="num" data-label="In">5</td>' in html


def test_card_escapes_its_title_but_not_its_content() -> None:
    html = rendered("{% card title=title %}<p>{{ text }}</p>{% endcard %}", title="<i>", text="<u>")

    assert "&lt;i&gt;" in html
    assert "<p>&lt;u&gt;</p>" in html


@pytest.mark.parametrize(
    ("cookie", "theme"),
    [("low", "low"), ("light", "light"), ("", "light"), ('"><script>', "light")],
)
def test_theme_is_one_of_ours(rf: RequestFactory, cookie: str, theme: str) -> None:
    request = rf.get("/")
    request.COOKIES["theme"] = cookie

    assert theme_of(request) == theme


def test_stranger_is_shown_no_way(rf: RequestFactory) -> None:
    assert look(rf.get("/"))["nav"] == []
