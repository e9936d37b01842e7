"""Plain words for a homeowner: what the parts of a roof are, and what planes are called."""

from __future__ import annotations

import tomllib
from collections import defaultdict
from collections.abc import Iterable, Sequence
from functools import cache
from importlib.resources import files
from typing import Any

import numpy as np

from roof3d.roof.model import Plane


@cache
def plain_words() -> dict[str, Any]:
    """Return ``kinds`` and ``roles`` by id, each with name and meaning, and ``words``, sorted."""
    text = files(__package__).joinpath("data", "words.toml").read_text(encoding="utf-8")
    found = tomllib.loads(text)
    return {
        "kinds": found["kinds"],
        "roles": found["roles"],
        "words": sorted(found["words"], key=lambda entry: str(entry["word"])),
    }


def plane_names(planes: Iterable[Plane]) -> dict[str, dict[str, str]]:
    """Return what a homeowner calls each plane, by id: no two alike.

    ``name`` goes into a sentence after "the": the side that the plane falls to, by compass, since
    no model says where its front is, and the section by its own name: ``south side of the main
    roof``. ``short`` is for a label on the plane: ``South side``, where no other plane has that. A
    section of one plane needs no side: ``porch roof``.
    """
    planes = tuple(planes)
    sections: dict[str, int] = defaultdict(int)
    alike: dict[tuple[str, str], list[Plane]] = defaultdict(list)
    for plane in planes:
        sections[plane.section] += 1
        alike[plane.section, _side(plane)].append(plane)
    found: dict[str, tuple[str, str]] = {}
    for (section, side), members in alike.items():
        roof = _roof(section)
        for plane, where in zip(members, _places(members), strict=True):
            alone = sections[section] == 1
            name = roof if alone else f"{where}{side} of the {roof}"
            found[plane.id] = (name, roof if alone else f"{where}{side}")
    # Sections may be called alike but for a hyphen or a capital: then the id tells them apart.
    names = [name.casefold() for name, _ in found.values()]
    shorts = [short.casefold() for _, short in found.values()]
    told = {}
    for plane in planes:
        name, short = found[plane.id]
        name = name if names.count(name.casefold()) == 1 else f"{name} ({plane.id})"
        short = short if shorts.count(short.casefold()) == 1 else name
        told[plane.id] = {"name": name, "short": short[:1].upper() + short[1:]}
    return told


def _roof(section: str) -> str:
    words = section.replace("_", " ").replace("-", " ").strip()
    return words if words.casefold().split()[-1:] == ["roof"] else f"{words} roof"


def _side(plane: Plane) -> str:
    """Read the wind and the storey off the id, where ``roof.naming`` has put them."""
    wind, *rest = plane.id.removeprefix(f"{plane.section}.").split("_")
    storey = next((word for word in rest if word in {"lower", "upper"}), "")
    for pole in ("north", "south"):
        if wind.startswith(pole) and wind != pole:
            wind = f"{pole}-{wind.removeprefix(pole)}"
    side = "level part" if wind == "level" else f"{wind} side"
    return f"{storey} {side}".strip()


def _places(members: Sequence[Plane]) -> list[str]:
    """Tell pieces of one side apart by where they lie; say nothing of a lone one."""
    if len(members) == 1:
        return [""]
    middles = np.array([np.mean(np.array(plane.outline)[:, :2], axis=0) for plane in members])
    axis = int(np.argmax(np.ptp(middles, axis=0)))
    # From the north, or from the west.
    order = np.lexsort((middles[:, 1 - axis], middles[:, axis] * (-1.0 if axis else 1.0)))
    first, last = ("north", "south") if axis else ("west", "east")
    if len(members) == 2:
        said = [f"{first}ern part of the ", f"{last}ern part of the "]
    else:
        said = [f"part {k + 1} from the {first} of the " for k in range(len(members))]
    names = [""] * len(members)
    for k, at in enumerate(order):
        names[int(at)] = said[k]
    return names
