"""The spec to fill in, which is also the measuring sheet: each value with the tool that measures it."""

from __future__ import annotations

import json
from importlib.resources import files

SHOP_LINE = '# also: shop = "shop.toml" '


def new_spec(title: str, shop: str | None = None) -> str:
    """A whole spec as text, annotated, in mm; it loads as it is (with ``shop``, once that file is there).

    title: what the instrument is called; anything that does not print is left out. shop: path of the shop file from
    where the spec will lie, or None to leave that key commented.
    """
    text = _filled("new-spec.toml", title)
    return text if shop is None else text.replace(SHOP_LINE, f"shop = {json.dumps(shop, ensure_ascii=False)} ")


def new_shop(title: str = "The shop") -> str:
    """A shop file as text, annotated, in mm; it loads as it is."""
    return _filled("new-shop.toml", title)


def _filled(name: str, title: str) -> str:
    text = files("templategen.spec").joinpath("templates", name).read_text(encoding="utf-8")
    shown = "".join(c for c in title if c.isprintable()).strip() or "untitled"
    return text.replace('"{title}"', json.dumps(shown, ensure_ascii=False)).replace("{title}", shown)
