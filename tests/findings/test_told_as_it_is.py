"""Findings that used to be silent, or said something else than the numbers."""

from __future__ import annotations

import math
import re

import pytest
from making import FAN, found, instrument, work_of

from templategen.parts.nut import nut_shape, nut_words
from templategen.tables import nut as tables


def test_the_last_slot_counts_with_its_width() -> None:
    """Half of the slot's 0.58 mm reaches past an end 0.2 mm behind its centre."""
    made = instrument({"fingerboard.beyond_last_fret": 0.2})
    half = made.spec.fret_wire.slot_width / 2
    (told,) = found(made, "last-fret-beyond-end")
    assert f"{half - 0.2:.2f} mm past" in told.message
    assert not found(instrument({"fingerboard.beyond_last_fret": half + 0.01}), "last-fret-beyond-end")


def test_strings_that_lie_in_one_another_at_the_saddle() -> None:
    """Six centres 1 mm apart, nearer still where offsets carry the saddles back: gauges 0.90 and 1.15 need 1.025 mm."""
    made = instrument({"bridge.string_spread": 5.0})
    (told,) = found(made, "strings-overlap-at-saddle")
    assert re.findall(r"string (\d) \(\w+\) and string (\d)", told.message) == [("5", "6")]
    by = float(re.findall(r"by ([\d.]+) mm", told.message)[0])
    assert by == pytest.approx(1.025 - abs(made.saddle.y[4] - made.saddle.y[5]), abs=0.006)
    assert not found(instrument({}), "strings-overlap-at-saddle")


def test_a_file_as_wide_as_the_gauge_leaves_nothing_and_binds_nothing() -> None:
    """0.26 of a shop in inches is 0.26 mm less a rounding."""
    made = instrument({"nut.slot_clearance": 0.1}, {"nut_file_widths": [0.26 - 1e-12, 0.34 - 1e-8, 3.0]})
    told = [finding.message for finding in found(made, "no-nut-file")]
    assert not any("-0.000" in text or "−0.000" in text for text in told)
    assert all("string 1" not in text or "bind" not in text.split("string 2")[0] for text in told)


def test_a_string_above_the_nut_is_told_so_and_not_as_a_share() -> None:
    made = instrument({"setup.first_fret_clearance": [0.3, 1.9, 0.3, 0.3, 0.3, 0.3], "nut.top_allowance": 3})
    above = [n + 1 for n, depth in enumerate(made.nut.depth) if depth <= 0]
    assert 2 in above
    (told,) = found(made, "string-above-nut")
    assert f"string 2 (B3) its floor {-made.nut.depth[1]:.2f} mm over the top" in told.message
    (share,) = found(made, "share-in-slot")
    assert not [number for number in above if f"string {number} " in share.message.lower()]


def test_no_minus_zero_degrees() -> None:
    made = instrument({"nut.slot_back_angle": 0.0, "headstock": {"break_angle": 12}})
    said = [*nut_words.note_lines(made), *(cell for row in tables.places(made).lines() for cell in row)]
    assert not re.search(r"[-−]0\.0°", " ".join(said))


def test_slots_of_a_compensated_nut_are_as_deep_in_the_cut_outline_as_in_the_table() -> None:
    """The front edge 1 mm forward under an 8° floor and a top that falls alike: at y = 0 the depth is the table's, but
    for the strings' own slants. Taken at the moved front it was 0.126 mm less."""
    made = instrument({"nut.compensation": 1.0, "nut.slot_back_angle": 8})
    for slot, depth in zip(nut_shape.slots_of(made.nut, "finished"), made.nut.depth, strict=True):
        outline = nut_shape.slot_outline(made.nut, slot)
        x = slot.start[0] - slot.direction[0] / slot.direction[1] * slot.start[1]
        half = slot.width / 2
        floor = slot.start[2] - slot.direction[2] / slot.direction[1] * slot.start[1]
        low = min(z for _, z in outline.points) - (half if len(outline.points) == 4 else 0.0)
        assert floor == pytest.approx(slot.start[2] - math.tan(math.radians(8)), abs=2e-3)
        assert float(made.nut.top.z(x)) - floor == pytest.approx(depth, abs=2e-3)
        if len(outline.points) == 4:
            assert low == pytest.approx(floor, abs=1e-6)


def test_an_everyday_plain_third_and_a_usual_fan_are_no_finding() -> None:
    """A plain 0.024 in G at 25.5 in and a nut slanted as multi-scale instruments are (common practice, no source)."""
    gauges = (0.010, "E4"), (0.013, "B3"), (0.024, "G3")
    strings = [{"gauge": round(25.4 * inch, 4), "note": note} for inch, note in gauges]
    made = instrument({"scale.length": 647.7, "strings.set": strings, "fingerboard.width_at_nut": 28})
    assert not any("breaking" in f.message for f in work_of(made).findings)
    fan = instrument(FAN)
    assert 10 < abs(fan.plan.nut_slant_deg) < 30
    assert not found(fan, "nut-slant")
