"""Colours to choose from, and which of them go with a shingle: by perceived difference."""

from __future__ import annotations

import math
import re
import tomllib
from collections.abc import Mapping
from importlib.resources import files
from typing import Any, Final

from roof3d.errors import ReadError

GROUPS: Final = {
    "shingle": "Shingles",
    "granule": "Granules of the top sheet",
    "metal": "Metal edges",
    "hip": "Hip and ridge pieces",
}
_HEX = re.compile(r"#[0-9a-fA-F]{6}")
_ID = re.compile(r"[a-z0-9][a-z0-9-]{0,40}")
_LONGEST_NAME = 60
_BANDS: Final = (
    (2.5, "From the ground it reads as the same colour."),
    (7.0, "A shade apart: the same family, and the roof reads as one."),
    (15.0, "Clearly another tone, still of a kind: it sets the edges off quietly."),
    (math.inf, "A contrast: it draws a line that is meant to be seen."),
)


def load_colours(own: str | None = None, *, name: str = "colours") -> dict[str, Any]:
    """Return the colours by group, and for each shingle what goes with it, closest first.

    Parameters
    ----------
    own : str or None
        TOML of the user's own colours, in the shape of ``data/colours.toml``; they come first,
        and one with the id of a shipped one stands in its place.
    name : str
        Of that file, for messages.

    Returns
    -------
    dict
        ``groups`` and ``matches``; a match has the CIEDE2000 ``difference`` and a ``why``.

    Raises
    ------
    ReadError
        Where the user's file is wrong, with the entry.

    References
    ----------
    CIE 142:2001 and Sharma, Wu, Dalal 2005 (CIEDE2000), by way of ``coloraide``. Where the bands
    of ``why`` part: common practice, no source.
    """
    shipped = tomllib.loads(
        files(__package__).joinpath("data", "colours.toml").read_text(encoding="utf-8")
    )
    added = {} if own is None else _checked(own, name)
    groups = []
    for group, title in GROUPS.items():
        swatches = {entry["id"]: entry for entry in added.get(group, [])}
        for entry in shipped[group]:
            swatches.setdefault(entry["id"], entry)
        groups.append(
            {"id": group, "name": title, "swatches": [_swatch(s) for s in swatches.values()]}
        )
    return {"groups": groups, "matches": _matches(groups)}


def _swatch(entry: Mapping[str, Any]) -> dict[str, Any]:
    blend = [{"hex": part["hex"], "share": float(part["share"])} for part in entry.get("blend", [])]
    return {"id": entry["id"], "name": entry["name"], "hex": entry["hex"], "blend": blend}


def _matches(groups: list[dict[str, Any]]) -> dict[str, list[dict[str, Any]]]:
    by_id = {group["id"]: group["swatches"] for group in groups}
    return {
        shingle["id"]: sorted(
            (
                _match(shingle, group, other)
                for group in by_id
                if group != "shingle"
                for other in by_id[group]
            ),
            key=lambda match: float(match["difference"]),
        )
        for shingle in by_id["shingle"]
    }


def _match(shingle: Mapping[str, Any], group: str, other: Mapping[str, Any]) -> dict[str, Any]:
    from coloraide import Color

    difference = float(Color(seen_from_afar(shingle)).delta_e(other["hex"], method="2000"))
    why = next(words for most, words in _BANDS if difference < most)
    return {
        "group": group,
        "swatch": other["id"],
        "difference": round(difference, 1),
        "why": why,
    }


def seen_from_afar(swatch: Mapping[str, Any]) -> str:
    """Return the one colour, as hex, to which a mix runs together: light adds up, not its code."""
    from coloraide import Color

    rest = 1.0 - sum(float(part["share"]) for part in swatch["blend"])
    parts = [(swatch["hex"], rest), *((p["hex"], float(p["share"])) for p in swatch["blend"])]
    light = [0.0, 0.0, 0.0]
    for colour, share in parts:
        coords = Color(colour).convert("srgb-linear").coords()
        light = [total + share * value for total, value in zip(light, coords, strict=True)]
    return str(Color("srgb-linear", light).convert("srgb").to_string(hex=True))


def _checked(text: str, name: str) -> dict[str, list[dict[str, Any]]]:
    try:
        found = tomllib.loads(text)
    except (tomllib.TOMLDecodeError, RecursionError) as error:
        raise ReadError(
            f"not TOML: {error}", where=name, hint="see 'roof3d view --help'"
        ) from error
    for group, entries in found.items():
        if group not in GROUPS:
            raise ReadError(
                f"there is no group of colours {group[:_LONGEST_NAME]!r}",
                where=name,
                hint="groups: " + ", ".join(GROUPS),
            )
        if not isinstance(entries, list):
            raise ReadError(
                "must be a list of tables", where=f"{name}: {group}", hint=f"[[{group}]]"
            )
        seen: set[str] = set()
        for at, entry in enumerate(entries):
            _check_entry(entry, f"{name}: {group}[{at}]")
            if entry["id"] in seen:
                raise ReadError(
                    f"id {entry['id']!r} is there twice",
                    where=f"{name}: {group}[{at}]",
                    hint="give each its own",
                )
            seen.add(entry["id"])
    return found


def _check_entry(entry: object, where: str) -> None:
    shape = 'id = "my-grey", name = "My grey", hex = "#808080"'
    if not isinstance(entry, dict) or not set(entry) <= {"id", "name", "hex", "blend"}:
        raise ReadError("a colour has id, name, hex and perhaps blend", where=where, hint=shape)
    if not isinstance(entry.get("id"), str) or not _ID.fullmatch(entry["id"]):
        raise ReadError("id must be small letters, digits and hyphens", where=where, hint=shape)
    named = entry.get("name")
    if not isinstance(named, str) or not 0 < len(named) <= _LONGEST_NAME or not named.isprintable():
        raise ReadError(
            f"name must be 1 to {_LONGEST_NAME} printable letters", where=where, hint=shape
        )
    blend = entry.get("blend", [])
    if not isinstance(blend, list) or not all(
        isinstance(part, dict) and set(part) == {"hex", "share"} for part in blend
    ):
        raise ReadError("blend must be a list of tables", where=where, hint="{ hex, share }")
    for colour in (entry, *blend):
        if not isinstance(colour.get("hex"), str) or not _HEX.fullmatch(colour["hex"]):
            raise ReadError(
                f"hex must be six digits, is {colour.get('hex')!r}", where=where, hint='"#808080"'
            )
    shares = [part.get("share") for part in blend]
    sound = all(isinstance(share, int | float) and 0 < share < 1 for share in shares)
    if not sound or sum(shares) >= 1:
        raise ReadError(
            "the shares of a blend must lie above 0 and sum to less than 1",
            where=where,
            hint="what is left is the share of the first colour",
        )
