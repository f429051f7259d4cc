"""The crowns as found, in the plan frame of an instrument."""

from __future__ import annotations

import numpy as np
import pytest
from making import FAN, instrument

from templategen.instrument.model import Instrument
from templategen.repair.standing import straight_crowns
from templategen.repair.survey.crowns import CrownsFound, crowns_found
from templategen.repair.survey.placed import base, heights, places, shares
from templategen.spec.survey.load import load_survey


def found(gaps: dict[int, str], lines: str = '["bass", "treble"]', more: str = "") -> CrownsFound:
    rows = "\n".join(f'"{fret}" = {each}' for fret, each in gaps.items())
    text = f"[scale]\nfret_count = 21\n[crowns]\nlines = {lines}\n{more}\n[crowns.under_straightedge]\n{rows}\n"
    crowns = crowns_found(load_survey("made.toml", text.encode()).survey)
    assert crowns is not None
    return crowns


LEVEL = dict.fromkeys(range(1, 22), "[0, 0]")


@pytest.mark.parametrize("changes", [{}, FAN, {"handedness": "left"}, {"scale.zero_fret": True}])
def test_level_crowns_stand_where_the_wire_makes_them(changes: dict[str, object]) -> None:
    """A straightedge without a gap, on strings that run straight over a cylinder's crowns up to their own bow."""
    i = instrument({**changes, "fingerboard.radius": "flat"})
    crowns = found(LEVEL)
    assert base(i, crowns) == pytest.approx(straight_crowns(i), abs=1e-9)
    at = places(i, crowns)
    rows = [i.plan.index(n) for n in range(1, 22)]
    assert at[:, 0] == pytest.approx(i.plan.crossings[rows, -1])
    assert at[:, 1] == pytest.approx(i.plan.crossings[rows, 0])
    assert heights(i, crowns) == pytest.approx(np.full((21, 2), i.strung.crown_height), abs=1e-9)


@pytest.fixture(scope="module")
def flat() -> Instrument:
    return instrument({"fingerboard.radius": "flat"})


def test_a_low_crown_is_low_under_the_strings_beside_its_line(flat: Instrument) -> None:
    crowns = found(LEVEL | {7: "[0.3, 0]"})
    off = base(flat, crowns) - straight_crowns(flat)
    low = off[6]
    assert low[-1] == pytest.approx(off[6].min())
    assert low[-1] - low[0] == pytest.approx(-0.3, abs=0.03)  # the straight line through 21 crowns shifts by its share
    assert np.all(np.diff(low) < 0)
    assert low[2] - low[0] == pytest.approx((low[-1] - low[0]) * 2 / 5, abs=0.01)  # strings lie evenly enough


def test_what_was_not_read_is_as_the_wire_makes_it(flat: Instrument) -> None:
    crowns = found(dict.fromkeys(range(3, 12), '[0, "-"]'))
    off = base(flat, crowns) - straight_crowns(flat)
    assert off == pytest.approx(0, abs=1e-9)
    assert np.isnan(heights(flat, crowns)[:, 1]).all()


def test_shares_are_one_in_all(flat: Instrument) -> None:
    crowns = found(dict.fromkeys(range(1, 22), "[0, 0, 0]"), lines='["treble", 3, "bass"]')
    share = shares(flat, crowns)
    assert share.sum(-1) == pytest.approx(1)
    assert share[4, 2] == pytest.approx([0, 1, 0])
    assert share[4, 0] == pytest.approx([1, 0, 0])
    one = found(dict.fromkeys(range(1, 22), "0"), lines='["centre"]')
    assert shares(flat, one) == pytest.approx(1)
    assert places(flat, one)[:, 0, 1] == pytest.approx(0)
