"""The shop file: what the shop owns."""

from __future__ import annotations

from typing import Annotated, Any, Literal, cast, get_args

from pydantic import Field

from templategen import units
from templategen.spec.choices import OrTable
from templategen.spec.models.common import Units
from templategen.spec.models.mill import Mill
from templategen.spec.models.wire import CrownHeight, CrownWidth, TangDepth, TangThickness
from templategen.spec.table import Table, toml, wrong
from templategen.spec.values import LengthWithin, Number, NumberWithin, Read, Text, Whole, within


class Paper(Table):
    """A paper size of the shop's own; height may be that of a roll."""

    width: Annotated[float, LengthWithin(200, 3000)] = Field(description="width of the paper", examples=[610])
    height: Annotated[float, LengthWithin(250, 100_000)] = Field(
        description="height of the paper, or length of the roll", examples=[10000]
    )


PaperName = Literal["A4", "Letter", "A3", "Tabloid", "Legal"]
_PAPERS = get_args(PaperName)
_PAPER_FORMS = f"must be {', '.join(map(toml, _PAPERS))} or a table such as {{ width = 610, height = 10000 }}"


def _paper(value: Any, unit: object) -> PaperName:
    if value in _PAPERS:
        return cast(PaperName, value)
    raise wrong(_PAPER_FORMS)


OnRuler = Annotated[float, LengthWithin(90, 110)]


class RulerMeasured(Table):
    """What the printed 100 mm check rulers really measure."""

    across: OnRuler = Field(description="the ruler across the page", examples=[100.0])
    along: OnRuler = Field(description="the ruler along the page", examples=[100.0])


class EndMill(Table):
    """A cutter."""

    shape: Literal["flat", "ball", "vee"] = Field(description="flat, ball or vee", examples=["ball"])
    diameter: Annotated[float, LengthWithin(0.05, 50)] | None = Field(
        default=None, description="of the cutter", examples=[1.0]
    )
    angle: Annotated[Number, within(1, 179)] | None = Field(
        default=None, description="full angle of a vee", examples=[60]
    )
    flute: Annotated[float, LengthWithin(0.1, 200)] | None = Field(
        default=None, description="how deep it cuts: length of the flutes", examples=[4.0]
    )


class Sheet(Table):
    """Sheet stock for ribs and gauges."""

    width: Annotated[float, LengthWithin(20, 10_000)] = Field(description="width of the sheet", examples=[600])
    height: Annotated[float, LengthWithin(20, 10_000)] = Field(description="height of the sheet", examples=[400])


class Wire(Table):
    """Fret wire the shop keeps."""

    name: Text = Field(description="what a spec calls it", examples=["fleet 2.4"])
    crown_width: CrownWidth = Field(description="across the crown", examples=[2.4])
    crown_height: CrownHeight = Field(description="crown over the board", examples=[1.1])
    tang_depth: TangDepth = Field(description="foot below the crown", examples=[1.6])
    tang_thickness: TangThickness = Field(description="bare tang, without the barbs", examples=[0.51])
    barb_width: TangThickness = Field(description="over the barbs", examples=[0.80])
    slot_width: TangThickness = Field(description="width of the slot for it", examples=[0.58])


_FROM_ZERO = NumberWithin(0, 10_000)
MinutesOf = Annotated[float, _FROM_ZERO]


class StepMinutes(Table):
    """The shop's own minutes for one step."""

    job: MinutesOf = Field(default=0.0, description="for the job as a whole", examples=[20])
    fret: MinutesOf = Field(default=0.0, description="and for each fret", examples=[3])
    string: MinutesOf = Field(default=0.0, description="and for each string", examples=[4])


def _job_minutes(value: Any, unit: units.Unit) -> StepMinutes:
    return StepMinutes.model_construct(job=_FROM_ZERO.function(value, unit), fret=0.0, string=0.0)


MinutesOrNot = Annotated[
    StepMinutes,
    OrTable(
        Read(_job_minutes, _FROM_ZERO.schema),
        "must be minutes for the job, or a table such as { job = 20, fret = 3, string = 4 }",
    ),
]


class Minutes(Table):
    """What each step takes in this shop; steps that are left out are not quoted."""

    record: MinutesOrNot | None = Field(default=None, description="recording it as found")
    strings_off: MinutesOrNot | None = Field(default=None, description="slackening and taking off")
    frets_out: MinutesOrNot | None = Field(default=None, description="old frets out", examples=[{"fret": 1.5}])
    neck: MinutesOrNot | None = Field(default=None, description="setting the neck straight")
    radius: MinutesOrNot | None = Field(default=None, description="sanding the board to its radius")
    slots: MinutesOrNot | None = Field(default=None, description="slots cut or deepened")
    frets_in: MinutesOrNot | None = Field(default=None, description="frets in")
    level: MinutesOrNot | None = Field(default=None, description="levelling, crowning, polishing")
    nut: MinutesOrNot | None = Field(default=None, description="the nut", examples=[{"job": 30, "string": 5}])
    saddle: MinutesOrNot | None = Field(default=None, description="the saddle")
    strings_on: MinutesOrNot | None = Field(default=None, description="strings on and to pitch")
    setup: MinutesOrNot | None = Field(default=None, description="relief and heights")
    offsets: MinutesOrNot | None = Field(default=None, description="offsets at the saddle")
    check: MinutesOrNot | None = Field(default=None, description="playing every note")
    record_left: MinutesOrNot | None = Field(default=None, description="recording it as left")


class HandTools(Table):
    """What this shop uses at each step, in its own words; where it says nothing, the trade's usual tools are named."""

    record: Text | None = Field(default=None, description="recording it as found")
    strings_off: Text | None = Field(default=None, description="slackening and taking off")
    frets_out: Text | None = Field(default=None, description="old frets out", examples=["end nippers 2, iron, 40 W"])
    neck: Text | None = Field(default=None, description="setting the neck straight")
    radius: Text | None = Field(default=None, description="sanding the board to its radius")
    slots: Text | None = Field(default=None, description="slots cut or deepened")
    frets_in: Text | None = Field(default=None, description="frets in")
    level: Text | None = Field(default=None, description="levelling, crowning, polishing", examples=["beam 400"])
    nut: Text | None = Field(default=None, description="the nut")
    saddle: Text | None = Field(default=None, description="the saddle")
    strings_on: Text | None = Field(default=None, description="strings on and to pitch")
    setup: Text | None = Field(default=None, description="relief and heights")
    offsets: Text | None = Field(default=None, description="offsets at the saddle")
    check: Text | None = Field(default=None, description="playing every note")
    record_left: Text | None = Field(default=None, description="recording it as left")


class Shop(Table):
    """What the shop owns."""

    called = "the shop file"

    units: Units = Field(default="mm", description="unit of bare lengths in the shop file")
    paper: Annotated[PaperName | Paper, OrTable(Read(_paper, {"enum": list(_PAPERS)}), _PAPER_FORMS)] = Field(
        default="A4", description="paper that is printed on"
    )
    ruler_measured: RulerMeasured | None = Field(
        default=None,
        description="what the printed 100 mm check rulers really measure",
        examples=[{"across": 100.0, "along": 100.0}],
    )
    nut_file_widths: tuple[Annotated[float, LengthWithin(0.05, 6)], ...] = Field(default=(), description="nut files")
    saw_kerfs: tuple[Annotated[float, LengthWithin(0.05, 6)], ...] = Field(
        default=(), description="what the saws remove"
    )
    end_mills: tuple[EndMill, ...] = Field(default=(), description="cutters")
    mill: Mill | None = Field(default=None, description="the mill that programs are written for; no programs if absent")
    beam_kerf: Annotated[float, LengthWithin(0, 2)] = Field(default=0.0, description="what the laser removes")
    sheet: Sheet | None = Field(default=None, description="sheet stock", examples=[{"width": 600, "height": 400}])
    cut_gap: Annotated[float, LengthWithin(0.5, 100)] | None = Field(
        default=None,
        description="between pieces on a sheet; 1 mm over the widest flat end mill up to 10, at least 3, if absent",
        examples=[4],
    )
    dowel_clearance: Annotated[float, LengthWithin(0, 2)] = Field(
        default=0.1, description="dowel holes of ribs over the dowel"
    )
    wire_stock_length: Annotated[float, LengthWithin(30, 100_000)] | None = Field(
        default=None, description="a stick of fret wire as it is bought", examples=[610]
    )
    spare_frets: Annotated[Whole, within(0, 50)] = Field(default=0, description="pieces of wire cut besides")
    nipper_loss: Annotated[float, LengthWithin(0, 5)] = Field(
        default=0.0, description="fret wire that a nip crushes: lost between two pieces of a stick"
    )
    wire: tuple[Wire, ...] = Field(default=(), description="fret wire kept")
    hand_tools: HandTools | None = Field(default=None, description="the shop's own tools per step, for the bench sheet")
    minutes: Minutes | None = Field(default=None, description="the shop's own minutes per step, for a quote")
    rate: Annotated[Number, within(0, 100_000)] | None = Field(
        default=None, description="the shop's own price of an hour", examples=[60]
    )
    currency: Text | None = Field(default=None, description="what the rate is in", examples=["EUR"])

    @property
    def cutters(self) -> tuple[EndMill, ...]:
        """The mill's tools, then the cutters besides."""
        tools = self.mill.tools if self.mill else ()
        of_mill = (
            EndMill.model_construct(shape=t.form, diameter=t.diameter, angle=t.tip_angle, flute=t.flute) for t in tools
        )
        return (*of_mill, *self.end_mills)
