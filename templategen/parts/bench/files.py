"""Which files of the job a step uses, and how much paper they take. Only files that this job has are named."""

from __future__ import annotations

from dataclasses import dataclass
from functools import cached_property

from templategen.drawing.paper.pages import page_count
from templategen.parts.common.paper import measured_of, paper_of
from templategen.parts.common.product import Pages, Product, Sheet, Writing
from templategen.parts.common.work import Work
from templategen.units import both_units

FileUse = tuple[str, str, str]
"""What is done with a file, the part that it is of, and its name."""
USES: dict[str, tuple[FileUse, ...]] = {
    "record": (("read", "as-found", "as-found.html"),),
    "neck": (("cut", "radius-gauge", "radius-gauge.dxf"),),
    "radius": (
        ("print", "reradius", "reradius.pdf"),
        ("cut", "radius-gauge", "radius-gauge.dxf"),
        ("cut", "radius-block", "radius-block.dxf"),
        ("load", "radius-block", "radius-block.stl"),
    ),
    "slots": (
        ("print", "fret-template", "fret-template.pdf"),
        ("print", "notched-strip", "notched-strip.pdf"),
        ("cut", "notched-strip", "notched-strip.dxf"),
        ("load", "slot-path", "slot-path.dxf"),
    ),
    "frets-in": (("cut", "press-caul", "press-caul.dxf"), ("load", "press-caul", "press-caul.step")),
    "level": (("print", "levelling", "levelling.pdf"), ("print", "levelling", "levelling-strip.pdf")),
    "nut": (
        ("print", "nut", "nut.pdf"),
        ("print", "nut-spacing-strip", "nut-spacing-strip.pdf"),
        ("cut", "nut", "nut-cut.dxf"),
        ("load", "nut", "nut-slotted.step"),
    ),
    "saddle": (
        ("print", "saddle", "saddle.pdf"),
        ("cut", "saddle", "saddle-cut.dxf"),
        ("load", "saddle", "saddle-finished.step"),
    ),
    "setup": (("print", "setup-plan", "setup-plan.pdf"), ("print", "clearance", "clearance.pdf")),
    "offsets": (("print", "saddle", "saddle.pdf"), ("print", "cents-plot", "cents.pdf")),
    "check": (("print", "clearance", "clearance.pdf"),),
}
"""By the step's key."""


@dataclass(frozen=True)
class Files:
    """The files of the job that these steps use."""

    work: Work
    steps: tuple[str, ...]

    @cached_property
    def there(self) -> dict[str, Product]:
        """The products of the parts that the steps use, by file name; none that must not be written."""
        from templategen.parts.register import PARTS

        wanted = {part for step in self.steps for _, part, _ in USES.get(step, ())}
        return {
            f"{product.stem}.{form}": product
            for part in PARTS
            if part.name in wanted
            for product in part.make(self.work)
            for form in product.formats
        }

    def of(self, step: str) -> tuple[tuple[str, str], ...]:
        """``("print", "nut.pdf, nut-spacing-strip.pdf")``, in the order of ``USES``."""
        named: dict[str, list[str]] = {}
        for use, _, name in USES.get(step, ()):
            if name in self.there:
                named.setdefault(use, []).append(name)
        return tuple((use, ", ".join(names)) for use, names in named.items())

    def paper(self) -> str:
        """``"6 sheets of A4: nut.pdf 2, fret-template.pdf 4; besides setup-plan.pdf and this sheet"``.

        Drawings are counted, since theirs must be printed; a document is as long as it flows.
        """
        counted: dict[str, int] = {}
        read: list[str] = []
        for step in self.steps:
            for use, _, name in USES.get(step, ()):
                if use != "print" or name not in self.there or name in (*counted, *read):
                    continue
                if isinstance(product := self.there[name], Writing):
                    read.append(name)
                else:
                    counted[name] = self._pages(product)
        besides = f"besides {', '.join([*read, ''])}this sheet"
        if not counted:
            return besides
        shop = self.work.instrument.shop
        paper = shop.paper if isinstance(shop.paper, str) else both_units(shop.paper.width, 0) + " wide"
        total = sum(counted.values())
        listed = ", ".join(f"{name} {count}" for name, count in counted.items())
        return f"{total} {'sheet' if total == 1 else 'sheets'} of {paper}: {listed}; {besides}"

    def _pages(self, product: Product) -> int:
        shop = self.work.instrument.shop
        paper = paper_of(shop)
        if isinstance(product, Pages):
            return len(product.pages(paper))
        assert isinstance(product, Sheet)
        return sum(page_count(leaf, paper, measured_of(shop), self.work.instrument.trace) for leaf in product.on_paper)
