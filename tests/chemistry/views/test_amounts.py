import pytest

from chemistry.templatetags.amounts import exact_ml, ml


@pytest.mark.parametrize(
    ("ul", "says"),
    [
        (1_240_000, "1 240 mL"),
        (1_240_400, "1 240 mL"),
        (62_540, "62.5 mL"),
        (9_000, "9 mL"),
        (1_234, "1.23 mL"),
        (12, "0.012 mL"),
        (0, "0 mL"),
        (-20_000, "−20 mL"),
        (None, "–"),
    ],
)
def test_ml_is_rounded_to_what_can_be_measured(ul: int | None, says: str) -> None:
    assert ml(ul).replace("\u00a0", " ") == says


def test_exact_ml_keeps_every_microlitre() -> None:
    shown = str(exact_ml(-12_345_006)).replace("\u00a0", " ")

    assert 'title="−12 345 006 µL"' in shown
    assert '>−12 345<span class="soft small">.006</span>' in shown
