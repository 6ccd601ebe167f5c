from tests.factories.sessions import TOMORROW_NOON, bench


def test_a_session_keeps_equipment_and_bottles(ada):
    house = bench()

    visit = house.book(ada)

    assert visit.starts_at == TOMORROW_NOON
    assert visit.lines.count() == 1
