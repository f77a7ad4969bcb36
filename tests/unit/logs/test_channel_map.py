"""The channel map: what it accepts, what it refuses, and with which words."""

import pytest

from tunnelwright.logs import ChannelMap
from tunnelwright.logs.channel_families import FAMILIES, channels_of, family_of, mark_of, nearest_name, unit_of_channel
from tunnelwright.vocabulary.quantity import quantities
from tunnelwright.vocabulary.remark import InputRefused


def _refused(**given: object) -> list[tuple[str, str, str, str]]:
    with pytest.raises(InputRefused) as refusal:
        ChannelMap.from_mapping({"time_column": "t", "channel": [{"source": "a", "name": "thrust_kn"}], **given}, "channels/east.toml")
    return [(fault.field, fault.given, fault.required, fault.hint) for fault in refusal.value.faults]


def test_readings_are_scaled_into_the_unit_of_the_name() -> None:
    entry = {"source": "a", "name": "chamber_pressure_1_kpa", "unit": "bar", "factor": 2.0, "offset": -1.0}
    (channel,) = ChannelMap.from_mapping({"time_column": "t", "channel": [entry]}).channels
    assert channel.scale_and_shift == (200.0, -100.0)
    assert channel.arithmetic == "level"


def test_every_fault_is_named_at_once() -> None:
    channels = [
        {"source": "a", "name": "thrust_kn", "unit": "bar"},
        {"source": "b", "name": "trust_kn"},
        {"source": "c", "name": "belt_mass_total_a_t", "unit": "barr"},
        {"source": "d", "name": "thrust_kn", "modulus": 10.0},
        {"source": "e", "name": "screw_speed_rpm", "plausible": [5.0, 1.0]},
        {"source": "f", "name": "screw_speed_rpm", "valid_from": "2026-02-01", "valid_until": "2026-01-01"},
    ]
    found = {field: (given, required, hint) for field, given, required, hint in _refused(time_zone="Mars", separator="x", channel=channels)}
    assert set(found) == {
        "time_zone",
        "separator",
        "channel[1].unit",
        "channel[2].name",
        "channel[3].unit",
        "channel[4].modulus",
        "channel[5].plausible",
        "channel[6].valid_until",
    }
    assert found["channel[2].name"][2] == "did you mean thrust_kn?"
    assert "did you mean `bar`?" in found["channel[3].unit"][1]


def test_lines_come_from_the_reader_of_the_file() -> None:
    with pytest.raises(InputRefused) as refusal:
        ChannelMap.from_mapping(
            {"time_column": "t", "channel": [{"source": "a", "name": "nothing"}]}, "east.toml", lambda path: f"east.toml:{path[1] if len(path) > 1 else 0}"
        )
    assert [fault.where for fault in refusal.value.faults] == ["east.toml:0"]


def test_two_columns_for_one_channel_need_dates() -> None:
    twice = [{"source": "a", "name": "thrust_kn"}, {"source": "b", "name": "thrust_kn", "valid_from": "2026-01-01T00:00:00Z"}]
    ((field, given, required, hint),) = _refused(channel=twice)
    assert (field, given) == ("channel[2].name", "thrust_kn")
    assert "`a` and `b` both give it" in required
    assert "valid_from" in hint
    parted = [{**twice[0], "valid_until": "2026-01-01T00:00:00Z"}, twice[1]]
    assert len(ChannelMap.from_mapping({"time_column": "t", "channel": parted}).channels) == 2


def test_a_map_without_channels_is_refused() -> None:
    assert [field for field, *_rest in _refused(channel=[])] == ["channels"]


def test_names_carry_their_marks() -> None:
    assert mark_of("chamber_pressure_top_left_kpa") == "top_left"
    assert unit_of_channel("chamber_pressure_1_kpa") == "kPa"
    assert family_of("chamber_pressure_kpa_1") is None
    assert channels_of("belt_mass_total_t", ["belt_mass_total_a_t", "belt_mass_rate_a_t_h"]) == ["belt_mass_total_a_t"]
    assert nearest_name("chamber_presure_2_kpa").startswith("chamber_pressure")


def test_every_family_stands_in_the_dictionary() -> None:
    assert set(FAMILIES) <= set(quantities())
