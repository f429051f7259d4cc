"""Golden numbers: everything that numbers.json of four specs says, kept under tests/data/golden, one record a line.

``python tests/golden.py`` writes them anew. A change of a number is told by its address, old and new beside each other
(``frets[12].from_nut: 324.2 -> 324.25``); a person reads it before it is kept. The digest, which is the spec's own, and
the sentences, which are the catalogue's and the files' own, are left out.
"""

from __future__ import annotations

import json
import sys
from collections.abc import Iterator
from pathlib import Path
from typing import Any

from places import DATA, ROOT, SPECS

FOLDER = DATA / "golden"
NAMES = ("fleet-34", "fleet-41", "fleet-44", "fleet-55")
"""Steps of a law of its own, in inches; left-handed; a zero fret; taken to another radius."""
SAME = 2e-6  # mm and the like; the last bit of another machine may round the other way
MOST_TOLD = 40


def numbers(name: str) -> Any:
    """What numbers.json of a spec of the fleet says, without what is left out."""
    import labelled

    from templategen import job

    whole = labelled.numbers(job.compute(str(SPECS / f"{name}.toml"))[1])
    del whole["digest"]
    whole.pop("files", None)
    for finding in whole["findings"]:
        del finding["message"]
    return whole


def path_of(name: str) -> Path:
    return FOLDER / f"{name}.json"


def text_of(whole: dict[str, Any]) -> str:
    """JSON with one record a line."""
    return "{\n" + ",\n".join(f"{json.dumps(key)}: {_value(value)}" for key, value in whole.items()) + "\n}\n"


def _value(value: Any) -> str:
    match value:
        case [*items] if any(isinstance(item, dict) for item in items):
            return "[\n" + ",\n".join(_line(item) for item in items) + "\n]"
        case dict() if value:
            return "{\n" + ",\n".join(f"{json.dumps(key)}: {_line(item)}" for key, item in value.items()) + "\n}"
        case _:
            return _line(value)


def _line(value: Any) -> str:
    return json.dumps(value, ensure_ascii=False)


def differences(old: Any, new: Any, at: str = "") -> Iterator[str]:
    """Every value that is not the same, by its address."""
    if isinstance(old, dict) and isinstance(new, dict):
        for key in [*old, *(key for key in new if key not in old)]:
            yield from _beside(old, new, key, f"{at}.{key}" if at else key)
    elif isinstance(old, list) and isinstance(new, list):
        for n in range(max(len(old), len(new))):
            yield from _beside(dict(enumerate(old)), dict(enumerate(new)), n, f"{at}[{n}]")
    elif not _same(old, new):
        yield f"{at}: {_line(old)} -> {_line(new)}"


def _beside(old: dict[Any, Any], new: dict[Any, Any], key: Any, at: str) -> Iterator[str]:
    if key not in new:
        yield f"{at}: {_line(old[key])} is gone"
    elif key not in old:
        yield f"{at}: {_line(new[key])} is new"
    else:
        yield from differences(old[key], new[key], at)


def _same(old: Any, new: Any) -> bool:
    if isinstance(old, float | int) and isinstance(new, float | int) and bool not in {type(old), type(new)}:
        return abs(old - new) <= SAME
    return type(old) is type(new) and bool(old == new)


def report(name: str) -> str:
    """What differs from the golden file; empty where nothing does."""
    kept = json.loads(path_of(name).read_text(encoding="utf-8"))
    found = list(differences(kept, numbers(name)))
    if not found:
        return ""
    more = [f"and {len(found) - MOST_TOLD} more"] if len(found) > MOST_TOLD else []
    head = f"{name}: {len(found)} numbers differ; python tests/golden.py writes them anew, then read the diff"
    return "\n".join([head, *found[:MOST_TOLD], *more])


def main() -> None:
    FOLDER.mkdir(exist_ok=True)
    for name in NAMES:
        said = report(name) if path_of(name).exists() else f"{name}: new"
        if said:
            path_of(name).write_text(text_of(numbers(name)), encoding="utf-8")
        print(said or f"{name}: as it was")


if __name__ == "__main__":
    sys.path.insert(0, str(ROOT))
    main()
