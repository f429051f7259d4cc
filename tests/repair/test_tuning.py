"""Where the saddle stands by the tuner: notes of a made-up saddle, read back through a survey, tell its place again."""

from __future__ import annotations

import json
from pathlib import Path
from typing import Any

import numpy as np
import pytest
from as_found import readings
from hypothesis import given, settings
from hypothesis import strategies as st
from making import instrument, spec_file

from templategen import job
from templategen.instrument.arrays import Array
from templategen.instrument.model import Instrument
from templategen.instrument.strings.fretting import fretting_cents
from templategen.repair.remedy import FoundInPlay, Remedy
from templategen.repair.standing import as_read, as_wanted, straight_crowns
from templategen.repair.survey.frets import line_found
from templategen.repair.survey.sounding import by_the_model
from templategen.repair.tuning import Tuned, as_it_sounds, saddles_found
from templategen.spec.survey.models import Law, Rule
from templategen.spec.survey.values import ByFret

STANDS = [1.4, 2.6, 3.1, 0.4, 2.2, 4.0]


def wrongly_placed(changes: dict[str, Any] | None = None) -> Instrument:
    """The same instrument with every saddle held where it should not be."""
    return instrument({**(changes or {}), "intonation.saddle": STANDS})


def read(i: Instrument, frets: tuple[int, ...], pm: float = 1.0, moved: float | Array = 0.0) -> Tuned:
    cents = {fret: i.intonation.cents[:, fret - 1] for fret in frets}
    return Tuned(cents, pm, np.broadcast_to(moved, (len(i.intonation.frets), len(i.loads))), i.intonation.nut_offset)


@pytest.mark.parametrize("frets", [(12,), (1, 12), (3, 5, 7, 12, 15)])
def test_the_saddle_that_made_the_notes_is_found(frets: tuple[int, ...]) -> None:
    i, wrong = instrument(), wrongly_placed()
    standing = as_read(i, straight_crowns(i), readings(wrong))
    found = saddles_found(i, standing, read(wrong, frets))
    assert [each.offset for each in found] == pytest.approx(STANDS, abs=1e-6)
    assert all(each.explained for each in found)
    for each in found:
        assert each.expected == pytest.approx(i.intonation.cents[each.string - 1, [f - 1 for f in frets]], abs=1e-9)
    assert found[0].pm == pytest.approx(1.0 / slope(wrong, 0, frets), rel=1e-3)


def slope(i: Instrument, n: int, frets: tuple[int, ...]) -> float:
    """Root of the summed squares of cents per mm of saddle, by whole differences."""
    string, at = i.intonation.strings[n], STANDS[n]
    less, more = (fretting_cents(string, at + by).total[[f - 1 for f in frets]] for by in (-0.05, 0.05))
    return float(np.linalg.norm((more - less) / 0.1))


def test_what_no_saddle_explains_is_the_strings_fault() -> None:
    i, wrong = instrument(), wrongly_placed()
    standing = as_read(i, straight_crowns(i), readings(wrong))
    tuned = read(wrong, (5, 12))
    bent = {5: tuned.cents[5] + np.array([0, 0, 9.0, 0, 0, 0]), 12: tuned.cents[12]}
    found = saddles_found(i, standing, Tuned(bent, 1.0, tuned.moved, tuned.nut))
    assert [each.string for each in found if not each.explained] == [3]
    steps = remedy_of(i, Tuned(bent, 1.0, tuned.moved, tuned.nut)).changes.steps
    assert "new string" in next(s for s in steps if (s.what, s.string) == ("saddle_offset", 3)).how


def remedy_of(i: Instrument, tuned: Tuned) -> Remedy:
    return Remedy(i, FoundInPlay(readings(i), tuned=tuned))


def test_changes_of_offsets() -> None:
    """From where it stands to where the spec wants it; within the tuner's ± it is left."""
    i, wrong = instrument(), wrongly_placed()
    steps = [s for s in remedy_of(i, read(wrong, (12,), pm=0.01)).changes.steps if s.what == "saddle_offset"]
    for n, step in enumerate(steps):
        assert step.found == pytest.approx(STANDS[n], abs=1e-6)
        assert step.wanted == pytest.approx(i.saddle.offset[n])
        assert step.change == pytest.approx(i.saddle.offset[n] - STANDS[n], abs=1e-6)
        assert ("toward" in step.how) == (STANDS[n] > i.saddle.offset[n])
    same = remedy_of(i, read(i, (12,))).changes.steps
    assert all(s.left for s in same if s.what == "saddle_offset")
    assert [s.what for s in same][-1] == "saddle_offset"


@settings(max_examples=10, deadline=None)
@given(fret=st.integers(1, 21), off=st.floats(-1.5, 1.5))
def test_a_fret_out_of_place_by_the_model_and_by_lengths(fret: int, off: float) -> None:
    """Stretch and stiffness change little: within a twentieth of what the lengths alone tell, and 0.05 cents."""
    i = instrument()
    n = np.arange(1, 22)
    at = 640 * (1 - 2 ** (-n / 12))
    at[fret - 1] += off
    places = ByFret(tuple((str(k), (float(x),)) for k, x in zip(n, at, strict=True)))
    law = Law.model_validate({"fret_count": 21})
    line = line_found("centre", law, places, Rule.model_validate({"graduation": 0.05, "class": "I"}))
    told = next(f for f in line.frets if f.fret == fret)
    s = as_wanted(i, straight_crowns(i), i.strung.relief)
    moved = np.zeros((21, 6))
    moved[fret - 1] = told.off
    own, then = (as_it_sounds(i, s, by) for by in (0.0, moved))
    by_hand = np.mean(
        [
            (fretting_cents(b, i.saddle.offset[k]).total - fretting_cents(a, i.saddle.offset[k]).total)[fret - 1]
            for k, (a, b) in enumerate(zip(own, then, strict=True))
        ]
    )
    assert by_hand == pytest.approx(told.off_cents, rel=0.05, abs=0.05)


def test_whole_path(tmp_path: Path) -> None:
    """A survey with one reading of a tuner, a capo and a held string; numbers.json has the saddle's place and cents."""
    wrong = wrongly_placed()
    cents = ", ".join(f"{c:.2f}" for c in wrong.intonation.cents[:, 11])
    pressed = ", ".join(f"{g - 0.005:.3f}" for g in wrong.line.pressed_gap)
    x1, xs = wrong.plan.crossing(1)[:, 0], wrong.saddle.x
    crown1, crown12 = wrong.crowns[0], wrong.crowns[11]
    at = wrong.plan.crossing(12)[:, 0]
    capo = crown1 + (wrong.saddle.height - crown1) * (at - x1) / (xs - x1) - crown12
    heights = ", ".join(f"{h:.3f}" for h in capo)
    places = ", ".join(f'"{n}" = {640 * (1 - 2 ** (-n / 12)) + 0.5 + (1.2 if n == 9 else 0):.1f}' for n in range(1, 22))
    (tmp_path / "found.toml").write_text(
        "[tools]\nfeelers = { step = 0.01 }\nheight_gauge = { graduation = 0.01 }\n"
        'rule = { graduation = 0.1, class = "I" }\n[scale]\nfret_count = 21\n'
        f"[frets]\ncentre = {{ {places} }}\n"
        '[relief]\nheld = [1, 21]\ngap = { "9" = 0.195 }\n'
        f"[strings]\npressed = [{pressed}]\naction = {{ fret = 12, capo = 1, heights = [{heights}] }}\n"
        f'cents = {{ "12" = [{cents}] }}\n',
        encoding="utf-8",
    )
    with spec_file({"survey": "found.toml"}) as path:
        (Path(path).parent / "found.toml").write_bytes((tmp_path / "found.toml").read_bytes())
        made = job.make(path, tmp_path / "out", only=["tables"])
    told = json.loads((made.folder / "numbers.json").read_text(encoding="utf-8"))
    steps = {(c["what"], c["string"]): c for c in told["changes"]}
    shift = told["as_found"]["nut_shift"]
    assert shift == pytest.approx(0.5, abs=0.1)
    for n, offset in enumerate(STANDS):
        # the readings are of a nut in its place; one 0.5 back is as sharp everywhere, so less saddle is left to blame
        moved = steps["saddle_offset", n + 1]["found"] - offset
        assert moved == pytest.approx(shift, abs=0.05), n
        assert not steps["nut_floor", n + 1]["estimated"]
        assert steps["nut_floor", n + 1]["change"] == pytest.approx(0, abs=0.02)
        assert steps["saddle", n + 1]["change"] == pytest.approx(0, abs=0.06)
    fret = next(f for f in told["as_found"]["frets"] if f["fret"] == 9)
    assert fret["outlier"]
    by_length = 1200 * np.log2((640 - fret["fitted"]) / (640 - fret["read"]))
    assert fret["off_cents"] == pytest.approx(by_length, rel=0.02)
    assert fret["off_cents"] != pytest.approx(by_length, abs=1e-6), "by the model, not by lengths"


def test_by_the_model_leaves_readings_as_they_are() -> None:
    from templategen.repair.survey.found import as_found
    from templategen.spec.survey.load import load_survey

    i = instrument()
    places = ", ".join(f'"{n}" = {640 * (1 - 2 ** (-n / 12)) + (2 if n == 7 else 0):.1f}' for n in range(1, 22))
    text = f"[scale]\nfret_count = 21\n[frets]\ncentre = {{ {places} }}"
    found = as_found(load_survey("made.toml", text.encode()).survey)
    told = by_the_model(i, found, as_wanted(i, straight_crowns(i), i.strung.relief))
    assert found.frets is not None
    assert told.frets is not None
    for was, now in zip(found.frets.lines[0].frets, told.frets.lines[0].frets, strict=True):
        assert (now.read, now.off, now.outlier) == (was.read, was.off, was.outlier)
        assert now.off_cents == pytest.approx(was.off_cents, rel=0.05, abs=0.05)
    assert told.frets.lines[0].outliers[0].off_cents == pytest.approx(8.2, abs=0.4)  # 1731·2/427 cents by lengths


def test_a_nut_out_of_place_by_the_model_and_by_lengths() -> None:
    """0.6 mm too far back: 1200·log2((L + o)/L), 1.6 cents sharp, to a tenth; too near is flat."""
    from templategen.repair.survey.found import as_found
    from templategen.spec.survey.load import load_survey

    i = instrument()
    for shift in (0.6, -0.6):
        places = ", ".join(f'"{n}" = {640 * (1 - 2 ** (-n / 12)) + shift:.2f}' for n in range(1, 22))
        text = f"[scale]\nfret_count = 21\n[frets]\ncentre = {{ {places} }}"
        found = as_found(load_survey("made.toml", text.encode()).survey)
        told = by_the_model(i, found, as_wanted(i, straight_crowns(i), i.strung.relief))
        assert told.frets is not None
        assert told.frets.lines[0].shift_cents == pytest.approx(1200 * np.log2(1 + shift / 640), rel=0.1)


def places(line: str, scale: float, off: dict[int, float]) -> str:
    at = ", ".join(f'"{n}" = {scale * (1 - 2 ** (-n / 12)) + off.get(n, 0.0):.1f}' for n in range(1, 22))
    return f"{line} = {{ {at} }}\n"


def test_the_tuner_is_read_over_frets_as_they_were_found() -> None:
    """A fret 2 mm toward the bridge; on two lines, along the bass one alone, which fades toward the treble side."""
    from making import FAN

    from templategen.repair.survey.found import as_found
    from templategen.repair.survey.sounding import tuned
    from templategen.spec.survey.load import load_survey

    cents = 'cents = { "12" = [1, 1, 1, 1, 1, 1] }'
    text = f"[scale]\nfret_count = 21\n[frets]\n{places('centre', 640, {5: 2.0})}[strings]\n{cents}"
    made = tuned(instrument(), as_found(load_survey("made.toml", text.encode()).survey))
    assert made is not None
    assert made.moved[4] == pytest.approx(np.full(6, 2.0), abs=0.15)
    assert np.abs(np.delete(made.moved, 4, axis=0)).max() == 0
    lines = places("bass", 670, {5: 2.0}) + places("treble", 640, {})
    text = f"[scale]\nfret_count = 21\n[frets]\n{lines}[strings]\n{cents}"
    made = tuned(instrument(FAN), as_found(load_survey("made.toml", text.encode()).survey))
    assert made is not None
    assert made.moved[4] == pytest.approx(np.linspace(0, 2, 6), abs=0.15)
    assert made.moved[4, 0] == 0
