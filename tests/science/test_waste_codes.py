"""The European List of Waste, 09 01."""

import pytest

from chemistry.models import Stream
from chemistry.science.waste_codes import ENTRIES, NoSuchCode, WrongAsterisk, parse_code


def test_every_entry_is_read_back_from_what_it_prints():
    assert [parse_code(str(entry)) for entry in ENTRIES] == list(ENTRIES)


@pytest.mark.parametrize("entry", ENTRIES, ids=str)
def test_no_entry_takes_the_other_asterisk(entry):
    other = entry.digits if entry.is_hazardous else f"{entry.digits}*"

    with pytest.raises(WrongAsterisk, match=entry.digits):
        parse_code(other)


def test_what_is_not_in_the_list_is_refused():
    known = {entry.digits for entry in ENTRIES}
    others = [f"09 01 {n:02d}" for n in range(100) if f"09 01 {n:02d}" not in known]

    assert len(others) == 100 - len(ENTRIES)
    for code in others:
        with pytest.raises(NoSuchCode, match=code):
            parse_code(code)


def test_streams_propose_codes_of_the_list():
    codes = {stream: stream.waste_code for stream in Stream}

    assert codes == {
        Stream.DEVELOPER: "09 01 01*",
        Stream.FIXER: "09 01 04*",
        Stream.STOP: "to be assessed",
        Stream.WASH_AID: "to be assessed",
    }
