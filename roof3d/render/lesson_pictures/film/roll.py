"""The build as moving pictures: layer after layer comes down into place, then all rests."""

from __future__ import annotations

import io
from collections.abc import Callable, Iterable, Iterator, Sequence
from dataclasses import dataclass
from fractions import Fraction
from pathlib import Path
from tempfile import TemporaryDirectory
from typing import Any

import numpy as np
from numpy.typing import NDArray

from roof3d.details.model import Detail
from roof3d.lesson.model import Lesson
from roof3d.project import Project
from roof3d.render.detail_ink.palette import LIGHT
from roof3d.render.lesson_pictures.film.moves import Move, plan_moves, reading_seconds
from roof3d.render.lesson_pictures.film.sprite import Canvas, bare_canvas, cut_sprite, lay_sprite
from roof3d.render.lesson_pictures.film.words import (
    Caption,
    FilmPlan,
    caption_of,
    ending,
    opening,
    plan_film,
    write_frame,
)
from roof3d.render.lesson_pictures.stage import (
    Stage,
    draw_stage,
    ink_edges,
    rim_runs,
    set_stage,
)
from roof3d.render.sheet import Sheet

FRAMES_A_SECOND = 25
FILM_SIZE, LOOP_SIZE = (1280, 720), (854, 480)
_HIGH = 0.34
"""Share of the figure's height from which a layer comes down."""
_APPEARS = 0.3
"""Share of its way on which it becomes whole: nothing flashes up."""
_LOOP_EVERY = 3
"""Of the frames in which something moves, the loop has every third."""
_COLOURS = 128
_FAINT = 0.3
Frame = NDArray[np.uint8]


@dataclass(frozen=True, slots=True, eq=False, kw_only=True)
class Shot:
    """A frame, and for how many frames it stands."""

    frame: Frame
    count: int


@dataclass(frozen=True, slots=True, kw_only=True)
class Film:
    """The build as files.

    Attributes
    ----------
    mp4, gif : bytes
    frames : int
        Of the MP4, at ``FRAMES_A_SECOND``.
    """

    mp4: bytes
    gif: bytes
    frames: int


def draw_film(
    project: Project,
    detail: Detail,
    lesson: Lesson,
    size: tuple[int, int] = FILM_SIZE,
    on_move: Callable[[int, int], None] | None = None,
) -> Film:
    """Draw the build of a detail as an MP4 and as a GIF that loops.

    Parameters
    ----------
    project : Project
    detail : Detail
        Of that project.
    lesson : Lesson
        Of that detail.
    size : tuple[int, int]
        Of the MP4, pixels, both even.
    on_move : callable of (int, int)
        Told how many layers of how many have come down.

    Returns
    -------
    Film
        H.264 with half-size colours, its index in front, 25 frames a second.
    """
    return roll_film(film_shots(project, detail, lesson, size, on_move), size)


def roll_film(shots: Iterable[Shot], size: tuple[int, int]) -> Film:
    """Put shots one behind the other into an MP4 and a GIF; see ``draw_film``."""
    tape = Tape(size)
    loop: list[tuple[Any, int]] = []
    moving = 0
    for shot in shots:
        tape.add(shot)
        moving = moving + 1 if shot.count == 1 else 0
        if shot.count > 1 or moving % _LOOP_EVERY == 1:
            loop.append((_small(shot.frame), shot.count))
        else:
            loop[-1] = (loop[-1][0], loop[-1][1] + shot.count)
    return Film(mp4=tape.close(), gif=_gif(loop), frames=tape.frames)


def film_shots(
    project: Project,
    detail: Detail,
    lesson: Lesson,
    size: tuple[int, int] = FILM_SIZE,
    on_move: Callable[[int, int], None] | None = None,
) -> Iterator[Shot]:
    """Draw the frames of the build one after the other; see ``draw_film``."""
    plan = plan_film(size)
    tall = plan.figure[3] - plan.figure[1]
    stage = set_stage(project, detail, size, plan.figure, (10.0, 0.12 * tall, 10.0, 0.0))
    canvas = bare_canvas(size)
    yield _still(_ghost(stage, plan), lesson, opening(lesson), plan)
    moves = plan_moves(detail, lesson)
    laid: list[int] = []
    for done, move in enumerate(moves, start=1):
        caption = caption_of(lesson, move.steps)
        words = _Words(lesson, caption, plan, size)
        for group in move.groups:
            for frame, canvas_after in _come_down(stage, canvas, group, move, plan):
                yield Shot(frame=words.over(frame), count=1)
                canvas = canvas_after or canvas
        laid += [number for group in move.groups for number in group]
        canvas = _at_rest(stage, laid, plan)
        yield _still(canvas, lesson, caption, plan)
        if on_move is not None:
            on_move(done, len(moves))
    yield _still(canvas, lesson, ending(lesson), plan)


def _ghost(stage: Stage, plan: FilmPlan) -> Canvas:
    """Return what will be built, faint."""
    every = [mesh.number for mesh in stage.meshes]
    raster = draw_stage(stage, every, every)
    sheet = Sheet(stage.camera.size, LIGHT.paper)
    sheet.image(raster.colour)
    ink_edges(sheet, rim_runs(stage, raster, every), 1.3 * plan.unit, _FAINT)
    colour = sheet.pixels().astype(np.float32)
    return Canvas(colour=colour, depth=np.zeros(colour.shape[:2], dtype=np.float32))


def _at_rest(stage: Stage, numbers: Sequence[int], plan: FilmPlan) -> Canvas:
    """Return what lies by now, drawn anew as a whole, with how deep it lies."""
    raster = draw_stage(stage, numbers)
    sheet = Sheet(stage.camera.size, LIGHT.paper)
    sheet.image(raster.colour)
    ink_edges(sheet, rim_runs(stage, raster, numbers), 1.5 * plan.unit)
    return Canvas(colour=sheet.pixels().astype(np.float32), depth=raster.depth.copy())


def _come_down(
    stage: Stage, canvas: Canvas, group: tuple[int, ...], move: Move, plan: FilmPlan
) -> Iterator[tuple[Canvas, Canvas | None]]:
    """Give the pictures of a group on its way down; the last one with what lies then."""
    sprite = cut_sprite(stage, group, 1.5 * plan.unit)
    if sprite is None:
        return
    lift = np.array(stage.detail.pieces[group[0] - 1].lift)
    camera = stage.camera
    rise = float(lift @ np.array(camera.up)) * camera.pixels_per_metre
    aside = float(lift @ np.array(camera.right)) * camera.pixels_per_metre
    high = _HIGH * (plan.figure[3] - plan.figure[1]) / max(np.hypot(rise, aside), 1.0)
    count = max(2, round(move.fall * FRAMES_A_SECOND))
    for k in range(1, count + 1):
        share = k / count
        left = 1.0 - share * share * (3.0 - 2.0 * share)
        off = high * left
        shift = (round(aside * off), round(-rise * off))
        nearer = float(lift @ np.array(camera.back)) * off
        strength = min(1.0, share / _APPEARS)
        after = lay_sprite(canvas, sprite, shift, nearer, strength)
        yield after, (after if k == count else None)


class _Words:
    """The words of a caption, written once and laid over each frame."""

    def __init__(
        self, lesson: Lesson, caption: Caption, plan: FilmPlan, size: tuple[int, int]
    ) -> None:
        sheet = Sheet(size, LIGHT.paper)
        write_frame(sheet, lesson, caption, plan)
        pixels = sheet.pixels()
        paper = np.round(255.0 * np.array(LIGHT.paper)).astype(np.uint8)
        self._pixels = pixels
        self._where = (pixels != paper).any(axis=-1)

    def over(self, canvas: Canvas) -> Frame:
        """Return the picture with the words over it."""
        frame = np.clip(np.rint(canvas.colour), 0, 255).astype(np.uint8)
        frame[self._where] = self._pixels[self._where]
        return frame


def _still(canvas: Canvas, lesson: Lesson, caption: Caption, plan: FilmPlan) -> Shot:
    height, width = canvas.depth.shape
    frame = _Words(lesson, caption, plan, (width, height)).over(canvas)
    return Shot(frame=frame, count=round(reading_seconds(caption.words) * FRAMES_A_SECOND))


class Tape:
    """An MP4 that is being written: into a file of its own, for its index goes in front."""

    def __init__(self, size: tuple[int, int]) -> None:
        import av

        self._folder = TemporaryDirectory(prefix="roof3d-")
        self._path = Path(self._folder.name) / "build.mp4"
        self._file: Any = av.open(
            str(self._path), "w", format="mp4", options={"movflags": "+faststart"}
        )
        self._stream: Any = self._file.add_stream("libx264", rate=FRAMES_A_SECOND)
        self._stream.width, self._stream.height = size
        self._stream.pix_fmt = "yuv420p"
        self._stream.options = {"preset": "veryfast", "crf": "20", "tune": "animation"}
        self._stream.time_base = Fraction(1, FRAMES_A_SECOND)
        self._stream.thread_count = 1  # the same bytes on every machine
        self.frames = 0

    def add(self, shot: Shot) -> None:
        """Write a frame as often as it stands."""
        import av

        picture: Any = av.VideoFrame.from_ndarray(
            np.ascontiguousarray(shot.frame), format="rgb24"
        ).reformat(format="yuv420p")
        for _ in range(shot.count):
            picture.pts = self.frames
            picture.time_base = Fraction(1, FRAMES_A_SECOND)
            self._file.mux(self._stream.encode(picture))
            self.frames += 1

    def close(self) -> bytes:
        """Return the finished file."""
        self._file.mux(self._stream.encode(None))
        self._file.close()
        data = self._path.read_bytes()
        self._folder.cleanup()
        return data


def _small(frame: Frame) -> Any:
    """Shrink a frame for the loop."""
    from PIL import Image

    return Image.fromarray(frame).resize(LOOP_SIZE, Image.Resampling.LANCZOS)


def _gif(loop: list[tuple[Any, int]]) -> bytes:
    """Write the loop: one palette for all, so that what stands still stays the same."""
    from PIL import Image

    # A palette that knows every layer: of a sheet of the frames in which all is at rest.
    still = [image for image, count in loop if count > _LOOP_EVERY]
    wide, tall = LOOP_SIZE
    every = Image.new("RGB", (wide, tall * len(still)))
    for k, image in enumerate(still):
        every.paste(image, (0, tall * k))
    palette = every.quantize(_COLOURS, method=Image.Quantize.MEDIANCUT)
    frames = [image.quantize(palette=palette, dither=Image.Dither.NONE) for image, _ in loop]
    times = [round(count * 100 / FRAMES_A_SECOND) * 10 for _, count in loop]
    buffer = io.BytesIO()
    frames[0].save(
        buffer,
        format="GIF",
        save_all=True,
        append_images=frames[1:],
        duration=times,
        loop=0,
        optimize=False,
        disposal=1,
    )
    return buffer.getvalue()
