"""The handout as one HTML file: nothing is fetched, nothing runs, it prints on A4 and Letter."""

from __future__ import annotations

import base64
from collections.abc import Iterator, Mapping
from dataclasses import dataclass
from functools import cache
from html import escape
from pathlib import Path

from roof3d.lesson.handout import Asked, Handout, Part, Row, Section

_POLICY = "default-src 'none'; img-src data:; style-src 'unsafe-inline'"
"""Nothing is fetched and nothing runs, whatever the words are."""


@dataclass(frozen=True, slots=True, eq=False, kw_only=True)
class Picture:
    """A picture of a handout: its bytes, their kind (``image/webp``), and its size in pixels."""

    data: bytes
    kind: str
    size: tuple[int, int]


def handout_html(handout: Handout, pictures: Mapping[str, Picture]) -> bytes:
    """Write a handout as HTML.

    Parameters
    ----------
    handout : Handout
        Its words are escaped: whatever a model is called, it stays text.
    pictures : Mapping[str, Picture]
        By the names that its sections ask for; one that is missing is left out, and what it
        shows is told in words.

    Returns
    -------
    bytes
        UTF-8. The same input gives the same bytes.
    """
    lines = [
        "<!DOCTYPE html>",
        '<html lang="en">',
        "<head>",
        '<meta charset="utf-8">',
        '<meta name="viewport" content="width=device-width, initial-scale=1">',
        f'<meta http-equiv="Content-Security-Policy" content="{_POLICY}">',
        f"<title>{escape(handout.title)}</title>",
        f"<style>\n{_style()}</style>",
        "</head>",
        "<body>",
        f"<header><h1>{escape(handout.title)}</h1><p>{escape(handout.subtitle)}</p></header>",
        "<main>",
        *(line for section in handout.sections for line in _section(section, pictures)),
        "</main>",
        f"<footer><p>{escape(handout.foot)}</p></footer>",
        "</body>",
        "</html>",
    ]
    return ("\n".join(lines) + "\n").encode()


def _section(section: Section, pictures: Mapping[str, Picture]) -> Iterator[str]:
    label = f"{section.id}-heading"
    yield (
        f'<section id="{escape(section.id)}" class="{section.part.value}"'
        f' aria-labelledby="{escape(label)}">'
    )
    if section.kicker:
        yield f'<p class="kicker">{escape(section.kicker)}</p>'
    yield f'<h2 id="{escape(label)}">{escape(section.heading)}</h2>'
    if section.picture:
        yield _figure(section, pictures.get(section.picture))
    yield from (f"<p>{escape(words)}</p>" for words in section.paragraphs)
    if section.points:
        yield "<ul>"
        yield from (f"<li>{escape(point)}</li>" for point in section.points)
        yield "</ul>"
    if section.rows:
        yield "<dl>"
        yield from (line for row in section.rows for line in _row(row))
        yield "</dl>"
    if section.asked:
        yield '<ol class="asked">'
        yield from (line for asked in section.asked for line in _asked(asked, section.part))
        yield "</ol>"
    yield "</section>"


def _figure(section: Section, picture: Picture | None) -> str:
    if picture is None:
        return f"<p>{escape(section.told)}</p>"
    data = base64.b64encode(picture.data).decode("ascii")
    width, height = picture.size
    return (
        f'<figure><img src="data:{escape(picture.kind)};base64,{data}" alt="{escape(section.told)}"'
        f' width="{width}" height="{height}"></figure>'
    )


def _row(row: Row) -> Iterator[str]:
    kind = ' class="urgent"' if row.urgent else ""
    words = [f"<p>{escape(line)}</p>" for line in row.lines if line]
    yield f"<dt{kind}>{escape(row.term)}</dt>"
    yield f"<dd{kind}>{''.join(words)}</dd>"


def _asked(asked: Asked, part: Part) -> Iterator[str]:
    yield f'<li value="{asked.number}">'
    yield f"<p>{escape(asked.words)}</p>"
    if part is Part.ANSWERS:
        yield f'<p class="answer">{escape(asked.answer)}</p>'
        yield f"<p>{escape(asked.reason)}</p>"
        yield f'<p class="source">Source: {escape(asked.source)}</p>'
    else:
        yield '<ul class="options">'
        yield from (f"<li>{escape(option)}</li>" for option in asked.options)
        yield "</ul>"
    yield "</li>"


@cache
def _style() -> str:
    return (Path(__file__).parent / "page.css").read_text(encoding="utf-8")
