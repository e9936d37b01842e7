"""Tables in a pipe and on a terminal: the same letters in the same places."""

from __future__ import annotations

import re

from roof3d.cli.tables import Table, _aligned, _dressed

TABLE = Table(
    title="Edges",
    columns=("role", ">length", "planes"),
    rows=(("eave", "88' 0\"", "main.south"), ("high edge", "7' 0 7/8\"", "")),
    totals=(("all", "95' 0 7/8\"", ""),),
)


def test_numbers_stand_flush_right_and_nothing_trails() -> None:
    assert _aligned(TABLE).splitlines() == [
        "Edges",
        "role           length  planes",
        "eave           88' 0\"  main.south",
        "high edge   7' 0 7/8\"",
        "all        95' 0 7/8\"",
    ]


def test_a_terminal_gets_the_same_letters_with_dress() -> None:
    dressed = _dressed(TABLE)
    bare = re.sub(r"\x1b\[[0-9;]*m", "", dressed)
    assert [line.rstrip() for line in bare.splitlines()] == _aligned(TABLE).splitlines()
    assert "\x1b[1m" in dressed
