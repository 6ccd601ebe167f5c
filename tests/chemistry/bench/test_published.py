"""Every sum against a figure somebody printed, asked through its page."""

from __future__ import annotations

import re
from decimal import Decimal

import pytest

from chemistry.models import TimeRow
from darkroom.models import Format
from tests.chemistry.bench.conftest import Ask, page_text, shown
from tests.factories.darkroom import IN2_MM2, FormatFactory


@pytest.mark.parametrize(
    ("slug", "figures", "expected"),
    [
        pytest.param(
            "dilution",
            {"dilution": "1+4", "total_ml": "25000"},
            ["5 000 mL", "20 000 mL"],
            id="Waygate radiography guide: a 25 L tank is 5 L and 20 L",
        ),
        pytest.param(
            "dilution",
            {"dilution": "1+4", "total_ml": "44.36"},
            ["8.87 mL", "35.49 mL"],
            id="Kodak J-86, restated: 1.5 oz of 1+4 hold 0.3 oz, 8.9 mL",
        ),
        pytest.param(
            "stock",
            {"dilution": "1+4", "stock_ml": "0.75"},
            ["3.75 mL", "3 mL"],
            id="clinical chemistry page: 0.75 and 3.0 mL are one in five",
        ),
        pytest.param(
            "strength",
            {"strong_pct": "70", "weak_pct": "0", "wanted_pct": "25", "total_ml": "1000"},
            ["357 mL", "643 mL"],
            id="pharmacy page: 357.1 + 642.9, printed as 360 + 640",
        ),
        pytest.param(
            "strength",
            {"strong_pct": "95", "weak_pct": "0", "wanted_pct": "30", "total_ml": "1000"},
            ["316 mL", "684 mL"],
            id="pharmacy page: 315.8 + 684.2, printed as 316 + 685",
        ),
        pytest.param(
            "strength",
            {"strong_pct": "10", "weak_pct": "1", "wanted_pct": "5", "total_ml": "18000"},
            ["8 000 mL", "10 000 mL"],
            id="tutor page: 18 L of 5 % from 1 % and 10 %",
        ),
        pytest.param(
            "weaken",
            {"have_ml": "300", "have_pct": "70", "wanted_pct": "40"},
            ["225 mL", "525 mL"],
            id="US Army MD0802: 225 mL of water",
        ),
        pytest.param(
            "weaken",
            {"have_ml": "750", "have_pct": "40", "wanted_pct": "30"},
            ["250 mL", "1 000 mL"],
            id="photo forum: 750 mL of 40 % make 1000 mL of 30 %",
        ),
        pytest.param(
            "solid",
            {"strength_pct": "10", "volume_ml": "1000"},
            ["100.0 g"],
            id="US Army SS0513: 10 % is one part made up to ten",
        ),
        pytest.param(
            "two-waters",
            {"total_ml": "500", "wanted_c": "38", "hot_c": "80", "cold_c": "10"},
            ["200 mL", "300 mL"],
            id="calorimetry problem: 200 g at 80 and 300 g at 10 come to 38 °C",
        ),
        pytest.param(
            "two-waters",
            {"total_ml": "400", "wanted_c": "40", "hot_c": "100", "cold_c": "20"},
            ["100 mL", "300 mL"],
            id="worked answer: 100 g at 100 and 300 g at 20 come to 40 °C",
        ),
        pytest.param(
            "temper",
            {
                "bath_ml": "500",
                "bath_c": "0",
                "wanted_c": "25.71",
                "water_c": "90",
                "vessel_heat": "0",
            },
            ["200 mL"],
            id="SPM revision card: 500 at 0 and 200 at 90 come to 25.71 °C",
        ),
        pytest.param(
            "lands",
            # The 200 g of hot water of the problem stand for the vessel: 200 × 4.177 J/°C.
            {"poured_c": "10", "volume_ml": "300", "vessel_heat": "835.4", "vessel_c": "80"},
            ["38.0 °C", "28.0 °C"],
            id="calorimetry problem, the hot water as the vessel",
        ),
        pytest.param(
            "pour-in",
            {"wanted_c": "38", "volume_ml": "300", "vessel_heat": "835.4", "vessel_c": "80"},
            ["10.0 °C"],
            id="calorimetry problem, turned round",
        ),
        pytest.param(
            "vessel",
            {"volume_ml": "300", "poured_c": "10", "vessel_c": "80", "read_c": "38"},
            ["835 J/°C"],
            id="calorimetry problem, for the vessel",
        ),
        pytest.param(
            "warm-up",
            {
                "power_w": "300",
                "bath_ml": "3000",
                "vessel_heat": "0",
                "start_c": "20",
                "target_c": "21",
                "room_c": "20",
                "loss_w_per_c": "0",
            },
            ["1 min", "0.7 min", "0.0 min"],
            id="300 W warm 3 L by 1 °C in about 42 s",
        ),
        pytest.param(
            "cooling",
            {"first_c": "68", "second_c": "60.652", "third_c": "54.453", "spacing_min": "10"},
            ["58.8 min", "21.0 °C"],
            id="numerical exercise: 68 °C in 21 °C at 0.017 a minute, 60.652 after ten",
        ),
        pytest.param(
            "first-rinse",
            {"area_au": "1", "carry_ml_per_au": "20", "silver_g_per_l": "4", "rinse_ml": "1000"},
            ["78.4 mg/L", "80.0 mg"],
            id="20 mL of a 4 g/L fixer carry 80 mg of silver for each roll",
        ),
    ],
)
def test_published_figure(
    ask: Ask, slug: str, figures: dict[str, str], expected: list[str]
) -> None:
    assert shown(ask(slug, **figures)) == expected


@pytest.mark.parametrize(
    ("film", "developer", "first", "k"),
    [("T-MAX 100", "d-76", "6.50", 0.0679), ("T-MAX 100", "xtol", "6.00", 0.1029)],
)
def test_published_times_of_a_row(
    ask: Ask, catalogue: None, film: str, developer: str, first: str, k: float
) -> None:
    """Kodak F-32; the coefficients are those of a least-squares fit made apart."""
    row = TimeRow.objects.get(
        film__name=film,
        developer__code=developer,
        dilution_n=0,
        points__temp_c=Decimal(20),
        points__minutes=Decimal(first),
    )
    answer = ask("time", kind="bw", row=row.pk, points="", temp_c="22.22")
    printed = row.points.get(temp_c=Decimal("22.22")).minutes

    assert shown(answer) == [f"{int(printed)}:{int(printed % 1 * 60):02d} min"]
    fitted = re.search(r"k = (0\.\d+) per °C", page_text(answer))
    assert fitted is not None
    assert float(fitted[1]) == pytest.approx(k, rel=0.002)
    assert row.source in page_text(answer)


def test_published_x_ray_chart_is_answered_from_its_own_pairs(ask: Ask) -> None:
    """ND Administrative Code 33.1-10, app. D: 5 min at 68 °F, 4.5 at 70, 4 at 71 and 72 °F."""
    pairs = "20 = 5\n21.11 = 4:30\n21.67 = 4\n22.22 = 4"

    assert shown(ask("time", kind="bw", row="", points=pairs, temp_c="21.11")) == ["4:30 min"]


def test_published_time_holds_without_drift(ask: Ask) -> None:
    """Kodak F-32, T-MAX 100 in D-76: 6:00 at 21.11 °C, in a room just as warm."""
    pairs = "20 = 6:30\n21.11 = 6\n22.22 = 5:30\n23.89 = 5"
    answer = ask("drift", row="", points=pairs, start_c="21.11", around_c="21.11", tau_min="40")

    assert shown(answer) == ["6:00 min", "21.1 °C"]


def test_published_wash_by_changes(ask: Ask) -> None:
    """M. Torzynski (2004) and the dilution model: 10 mL held back, 500 mL a fill."""
    answer = ask(
        "wash",
        material="film",
        hardening="no",
        held_ml="10",
        fill_ml="500",
        one_part_in="1000000",
        water_c="20",
    )
    parts = [row[1].replace("\u00a0", "") for row in answer.context["answer"].table.rows]
    published = (1.961e-2, 3.845e-4, 7.539e-6, 1.478e-7)

    assert shown(answer) == ["5 fills"]
    assert [1 / int(n) for n in parts[:4]] == pytest.approx(published, rel=0.005)


def _format(name: str, in2: int) -> Format:
    return FormatFactory(name=name, area_mm2=in2 * IN2_MM2)


def test_published_tally_of_a_mixed_lot(ask: Ask) -> None:
    """Photoscapes, Managing fixer exhaustion: 19.625 AU, printed as 20 with 11×14 rounded up."""
    lot = {("135-36", 80): 1, ("120", 80): 2, ("4×5", 20): 12, ("8×10", 80): 4, ("11×14", 154): 5}
    counts = {f"format-{_format(*size).pk}": count for size, count in lot.items()}

    assert shown(ask("area", grain="plain", **counts)) == ["19.63 AU", "1 570 in²"]


@pytest.mark.parametrize(
    ("capacity", "sheets"),
    [
        # Kodak Professional Fixer, restated in a forum: 100 sheets of 4×5, 25 of 8×10 a litre.
        ("25", {"4×5": "100", "8×10": "25"}),
        # The same label for tabular film prints 67 and 17, rounded up; whoever counts floors.
        ("16.6667", {"4×5": "66", "8×10": "16"}),
        # Photoscapes: 80 of 4×5 or 20 of 8×10 in a litre.
        ("20", {"4×5": "80", "8×10": "20"}),
    ],
)
def test_published_capacity_of_a_litre(ask: Ask, capacity: str, sheets: dict[str, str]) -> None:
    _format("4×5", 20), _format("8×10", 80)
    answer = ask(
        "left",
        bottle="",
        material="film",
        volume_ml="1000",
        capacity_au_per_l=capacity,
        passed_au="0",
    )

    results = answer.context["answer"].results
    assert {one.label: one.value for one in results if one.unit == "sheets"} == sheets
