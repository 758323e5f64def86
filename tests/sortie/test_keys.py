import pytest

from diproute.records import keys
from diproute.wording import label
from diproute.wording.labels import LABELS


@pytest.mark.parametrize("key", [*keys.CYCLE_PARTS, *keys.GOVERNING, *keys.SHEET_LINES, keys.DIP, keys.DROP, keys.HERE])
def test_every_key_has_its_word(key):
    assert key in LABELS


def test_a_drop_among_several_goes_by_its_own_name():
    assert keys.drop_place("Head", 1) == label("drop") == "drop"
    assert label(keys.drop_place("Head", 2), "us") == "drop Head"


def test_a_us_reader_has_words_of_his_own():
    assert (label("qnh", "us"), label("qnh", "metric")) == ("altimeter setting", "QNH")
    assert (label("manoeuvre", "us"), label("manoeuvre")) == ("maneuver", "manoeuvre")
