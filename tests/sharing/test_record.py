"""A record is one row of bytes whoever prints it, never changes, and refuses what nobody should pass on."""

import copy
import json

import jsonschema
import pytest
from hypothesis import given
from hypothesis import strategies as st
from pydantic import ValidationError
from said import record

from diproute.errors import ShareError
from diproute.sharing.record import Properties, Seen
from diproute.sharing.schema import PLACE, schema, schema_text
from diproute.sharing.seal import MOST_BYTES, canonical, digest, parse_strictly, read_record, seal


@pytest.fixture(scope="module")
def sealed():
    return record("Pönd of the <3 m sign", seen={"depth_dm": 25, "snags": "two stumps,\nnorth end"})


def changed(sealed, change):
    told = json.loads(sealed.body)
    change(told)
    return json.dumps(told).encode()


def test_read_back_it_is_the_same(sealed):
    back = read_record(sealed.body)
    assert back == sealed
    assert seal(back.record) == sealed


def test_order_and_spacing_are_no_matter(sealed):
    told = json.loads(sealed.body)
    turned = {key: told[key] for key in reversed(told)}
    assert read_record(json.dumps(turned, indent=3).encode()) == sealed


def test_a_record_is_frozen(sealed):
    with pytest.raises(ValidationError):
        sealed.record.properties.name = "other"


def test_another_word_is_another_record(sealed):
    assert read_record(changed(sealed, lambda told: told["properties"]["seen"].update(depth_dm=26))).id != sealed.id


def test_a_key_of_a_later_release_is_kept(sealed):
    later = read_record(changed(sealed, lambda told: told["properties"]["seen"].update(clarity_dm=12)))
    assert later.id != sealed.id
    assert b'"clarity_dm":12' in later.body
    assert read_record(later.body) == later


def test_the_schema_is_the_models_own_and_fits(sealed):
    assert PLACE.read_text(encoding="utf-8") == schema_text()
    jsonschema.validate(json.loads(sealed.body), schema(), cls=jsonschema.Draft202012Validator)


# RFC 8785, section 3.2.2 with 3.2.3: the sample of the serialisation and sorting of data
RFC_8785_IN = (
    b'{"numbers": [333333333.33333329, 1E30, 4.50, 2e-3, 0.000000000000000000000000001],'
    b'"string": "\\u20ac$\\u000F\\u000aA\'\\u0042\\u0022\\u005c\\\\\\"\\/","literals": [null, true, false]}'
)
RFC_8785_OUT = (
    '{"literals":[null,true,false],"numbers":[333333333.3333333,1e+30,4.5,0.002,1e-27],'
    '"string":"€$\\u000f\\nA\'B\\"\\\\\\\\\\"/"}'
)


def test_canonical_bytes_of_rfc_8785():
    assert canonical(json.loads(RFC_8785_IN)).decode() == RFC_8785_OUT


# RFC 8785, appendix B: IEEE 754 numbers and their text
@pytest.mark.parametrize(
    ("bits", "text"),
    [
        ("0000000000000000", "0"), ("8000000000000000", "0"), ("0000000000000001", "5e-324"),
        ("7fefffffffffffff", "1.7976931348623157e+308"), ("4340000000000000", "9007199254740992"),
        ("44b52d02c7e14af5", "9.999999999999997e+22"), ("44b52d02c7e14af6", "1e+23"),
        ("444b1ae4d6e2ef4e", "999999999999999700000"), ("444b1ae4d6e2ef50", "1e+21"),
        ("3eb0c6f7a0b5ed8c", "9.999999999999997e-7"), ("3eb0c6f7a0b5ed8d", "0.000001"),
        ("41b3de4355555553", "333333333.3333332"), ("becbf647612f3696", "-0.0000033333333333333333"),
    ],
)  # fmt: skip
def test_numbers_of_rfc_8785(bits, text):
    import struct

    assert canonical(struct.unpack(">d", bytes.fromhex(bits))[0]).decode() == text


# FIPS 180-4 and its published examples: SHA-256 of "abc"
def test_digest_of_fips_180_4():
    assert digest(b"abc") == "ba7816bf8f01cfea414140de5dae2223b00361a396177a9cb410ff61f20015ad"


degrees = st.floats(-1, 1).map(lambda share: round(share, 6)) | st.sampled_from([0.0, -0.0, 1e-6, -9.9e-5, 1.0])


@given(lon=degrees, lat=degrees, scale=st.sampled_from([1, 90]), snags=st.text(min_size=1, max_size=20))
def test_the_fast_printing_is_that_of_rfc_8785(lon, lat, scale, snags):
    """Whatever the place and the words, reading gives the bytes that the library makes."""
    try:
        made = record("Pond", (lon * scale, lat * scale), seen={"snags": snags})
    except ValidationError:  # words that no record may hold
        return
    assert read_record(made.body) == made
    assert read_record(json.dumps(json.loads(made.body), ensure_ascii=True).encode()).id == made.id


HOSTILE = {
    "no JSON": b"{",
    "a list": b"[]",
    "a word": b'"record"',
    "a number": b"1",
    "a key twice": b'{"type":"Feature","type":"Feature"}',
    "no number": b'{"type":NaN}',
    "endless": b'{"type":-Infinity}',
    "too many digits": b'{"type":' + b"9" * 5000 + b"}",
    "too large": b'{"type":1e999}',
    "too long": b'{"type":0.' + b"1" * 500 + b"}",
    "above 2^53": b'{"type":1152921504606846976}',
    "deep": b"[" * 100_000 + b"]" * 100_000,
    "half a character": b'{"type":"\\ud800"}',
    "a key that is not ASCII": '{"tÿpe":"Feature"}'.encode(),
    "no UTF-8": b'{"type":"\xff"}',
    "a byte order mark": b"\xef\xbb\xbf{}",
    "100 MB": b'{"type":"' + b"a" * 100_000_000 + b'"}',
}


@pytest.mark.parametrize("what", HOSTILE)
def test_hostile_json_is_refused_in_one_line(what):
    with pytest.raises(ShareError) as refused:
        read_record(HOSTILE[what])
    assert len(str(refused.value)) < 300
    assert "\n" not in str(refused.value)


def to(*keys):
    """Change one value deep in a record."""
    *way, last, value = keys

    def change(told):
        for key in way:
            told = told[key]
        told[last] = value

    return change


WRONG = {
    "another CRS": to("crs", {"type": "name", "properties": {"name": "EPSG:3857"}}),
    "metres instead of degrees": to("geometry", "coordinates", [-17812345.0, 5181234.0]),
    "a height in the position": to("geometry", "coordinates", [-160, 42, 900]),
    "a line": to("geometry", {"type": "LineString", "coordinates": [[1, 2], [3, 4]]}),
    "no place": to("geometry", None),
    "a fraction": to("properties", "seen", "depth_dm", 2.5),
    "a word for a number": to("properties", "seen", "depth_dm", "25"),
    "a negative depth": to("properties", "seen", "depth_dm", -1),
    "a depth of kilometres": to("properties", "seen", "depth_dm", 2**40),
    "a number for a word": to("properties", "name", 1),
    "script in a name": to("properties", "name", "<script>alert(1)</script>"),
    "script in an agency": to("properties", "who", "agency", "<img src=x onerror=alert(1)>"),
    "script in words": to("properties", "seen", "snags", "one\n</script><svg onload=x>"),
    "control characters": to("properties", "name", "a\x1b[2J"),
    "letters turned round": to("properties", "name", "a\u202eb"),
    "two lines in a name": to("properties", "name", "a\nb"),
    "an empty name": to("properties", "name", "  "),
    "a long name": to("properties", "name", "a" * 201),
    "long words": to("properties", "seen", "remarks", "a" * 2001),
    "an unknown way of seeing": to("properties", "how", "heard"),
    "a local time": to("properties", "when", "2026-07-01T12:00:00+02:00"),
    "the 31st of June": to("properties", "when", "2026-06-31T12:00:00Z"),
    "the year 9000": to("properties", "until", "9000-01-01T00:00:00Z"),
    "ends before it begins": to("properties", "until", "2026-06-30T00:00:00Z"),
    "another format": to("properties", "format", "diproute-site/2"),
    "no id": to("properties", "supersedes", ["0123"]),
    "65 ids": to("properties", "of", [f"{i:064x}" for i in range(65)]),
    "seen by nobody": lambda told: told["properties"].pop("seen"),
    "no agency": lambda told: told["properties"]["who"].pop("agency"),
    "deep in a later key": to("properties", "later", json.loads("[" * 500 + "]" * 500)),
    "large in a later key": to("properties", "later", 2**53),
    "too much in a later key": to("properties", "later", "a" * MOST_BYTES),
}


@pytest.mark.parametrize("what", WRONG)
def test_what_no_record_may_say_is_refused_in_one_line(what, sealed):
    body = changed(sealed, WRONG[what])
    with pytest.raises(ShareError) as refused:
        read_record(body)
    said = str(refused.value)
    assert len(said) < 400
    assert said.isprintable()


def test_the_unspoilt_record_would_pass(sealed):
    assert read_record(changed(sealed, copy.copy)).id == sealed.id


def test_the_message_names_the_place(sealed):
    with pytest.raises(ShareError, match=r"properties\.seen\.depth_dm"):
        read_record(changed(sealed, WRONG["a fraction"]))


def test_a_parser_of_the_package_is_as_strict_for_everything():
    with pytest.raises(ShareError, match="the thing holds 12 bytes"):
        parse_strictly(b'"0123456789"', "the thing", 11)


def test_every_length_has_its_unit_in_the_name():
    for part in (Properties, Seen):
        for name, field in part.model_fields.items():
            if "int" in str(field.annotation):
                assert name.endswith(("_dm", "_ddeg", "_dk")), name
