"""Contrast of the colour tokens, worked out from the style sheet itself.

Source: WCAG 2.2, relative luminance and success criteria 1.4.3 and 1.4.11.
"""

import re
from pathlib import Path

import pytest

FOLDER = Path(__file__).parents[2] / "darkroom" / "static" / "darkroom"
TEXT = ("ink", "soft", "water", "lamp", "straw", "moss")
GROUNDS = ("paper", "enamel")
MARKS = ("edge", "rim", "water", "lamp", "straw", "moss", "focus", "strong")
DARKEST_TEXT_IN_RED_LIGHT = "#FF3B2F"


def tokens(selector: str) -> dict[str, str]:
    text = (FOLDER / "tokens.css").read_text()
    (block,) = re.findall(rf"^  {re.escape(selector)} \{{\n(.*?)^  \}}", text, re.S | re.M)
    return dict(re.findall(r"--([a-z-]+): (#[0-9a-f]{6});", block))


THEMES = {"light": tokens(":root"), "low": tokens('[data-theme="low"]')}


def luminance(colour: str) -> float:
    shares = (int(colour[i : i + 2], 16) / 255 for i in (1, 3, 5))
    linear = [s / 12.92 if s <= 0.04045 else ((s + 0.055) / 1.055) ** 2.4 for s in shares]
    return 0.2126 * linear[0] + 0.7152 * linear[1] + 0.0722 * linear[2]


def contrast(one: str, other: str) -> float:
    dark, light = sorted((luminance(one), luminance(other)))
    return (light + 0.05) / (dark + 0.05)


def test_contrast_agrees_with_known_pairs() -> None:
    assert contrast("#000000", "#ffffff") == pytest.approx(21)
    assert contrast("#c00000", "#000000") == pytest.approx(3.2, abs=0.05)


def test_themes_name_the_same_tokens() -> None:
    assert set(THEMES["light"]) == set(THEMES["low"])


@pytest.mark.parametrize("ground", GROUNDS)
@pytest.mark.parametrize("token", TEXT)
@pytest.mark.parametrize("theme", THEMES)
def test_text_can_be_read(theme: str, token: str, ground: str) -> None:
    assert contrast(THEMES[theme][token], THEMES[theme][ground]) >= 4.5


@pytest.mark.parametrize(
    ("text", "ground"),
    [("on-strong", "strong"), ("on-strong", "ink"), ("ink", "water-tint"), ("ink", "paper")],
)
@pytest.mark.parametrize("theme", THEMES)
def test_text_on_colour_can_be_read(theme: str, text: str, ground: str) -> None:
    assert contrast(THEMES[theme][text], THEMES[theme][ground]) >= 4.5


@pytest.mark.parametrize("ground", GROUNDS)
@pytest.mark.parametrize("token", MARKS)
@pytest.mark.parametrize("theme", THEMES)
def test_lines_that_mean_something_can_be_seen(theme: str, token: str, ground: str) -> None:
    assert contrast(THEMES[theme][token], THEMES[theme][ground]) >= 3


@pytest.mark.parametrize("tone", ["water", "lamp", "straw", "moss"])
@pytest.mark.parametrize("theme", THEMES)
def test_hatches_stand_off_their_tint(theme: str, tone: str) -> None:
    assert contrast(THEMES[theme][tone], THEMES[theme][f"{tone}-tint"]) >= 3


@pytest.mark.parametrize(("token", "colour"), THEMES["low"].items())
def test_red_light_is_red_only(token: str, colour: str) -> None:
    red, green, blue = (int(colour[i : i + 2], 16) for i in (1, 3, 5))

    assert max(green, blue) <= red * 0.45


@pytest.mark.parametrize("token", TEXT)
def test_text_in_red_light_is_bright_enough(token: str) -> None:
    assert luminance(THEMES["low"][token]) >= luminance(DARKEST_TEXT_IN_RED_LIGHT)


@pytest.mark.parametrize("ground", GROUNDS)
def test_ground_in_red_light_is_nearly_black(ground: str) -> None:
    assert luminance(THEMES["low"][ground]) <= luminance("#120000")


def test_styles_use_tokens_not_colours() -> None:
    sheets = [path for path in FOLDER.glob("*.css") if path.name not in {"tokens.css", "print.css"}]

    assert len(sheets) == 2
    assert [re.findall(r"#[0-9a-f]{3,8}\b|rgba?\(|hsl", sheet.read_text()) for sheet in sheets] == [
        [],
        [],
    ]


@pytest.mark.parametrize(("pattern", "most"), [("*.css", 30_000), ("*.woff2", 30_000)])
def test_files_stay_small(pattern: str, most: int) -> None:
    assert 0 < sum(path.stat().st_size for path in FOLDER.glob(pattern)) < most
