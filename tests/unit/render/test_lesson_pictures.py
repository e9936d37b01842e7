"""Pictures of a lesson: what is new in full colour, no text on another, a film that plays."""

from __future__ import annotations

import io
import re
import subprocess
from dataclasses import dataclass
from functools import cache
from itertools import combinations, pairwise
from pathlib import Path

import imageio_ffmpeg
import numpy as np
import pytest
from numpy.typing import NDArray

import roof3d
from roof3d.details.model import Detail, PieceKind
from roof3d.lesson.build import build_lesson
from roof3d.lesson.model import Lesson
from roof3d.project import Project
from roof3d.render.detail_ink.palette import LIGHT
from roof3d.render.lesson_pictures import contact
from roof3d.render.lesson_pictures.contact import contact_cells, draw_contact, write_contact
from roof3d.render.lesson_pictures.film.moves import plan_moves, reading_seconds
from roof3d.render.lesson_pictures.film.roll import (
    FRAMES_A_SECOND,
    LOOP_SIZE,
    Film,
    Shot,
    Tape,
    film_shots,
    roll_film,
)
from roof3d.render.lesson_pictures.film.words import caption_of, plan_film, write_frame
from roof3d.render.lesson_pictures.plan import DONE, NOW, TO_COME, WARN
from roof3d.render.lesson_pictures.step_picture import StepPicture, ink_figure, ink_step, set_steps
from roof3d.render.lesson_pictures.wrong_picture import STREAM, ink_wrong, set_wrong
from roof3d.render.passes import Colour
from roof3d.scene.detail_scene import build_detail, detail_mistakes

_MODELS = Path(__file__).parents[3] / "models"
_SMALL = (640, 360)


@cache
def _taught(model: str, place: str, celsius: float | None = None) -> tuple[Project, Detail, Lesson]:
    project = roof3d.build(roof3d.load(_MODELS / f"{model}.toml"))
    detail = build_detail(project, place)
    return project, detail, build_lesson(project, detail, celsius=celsius)


@cache
def _pictures(
    model: str, place: str, size: tuple[int, int], celsius: float | None = None
) -> tuple[StepPicture, ...]:
    return tuple(set_steps(*_taught(model, place, celsius), size))


@cache
def _film() -> tuple[Film, tuple[Shot, ...]]:
    taught = _taught("lantern-street", "eave-shingle")
    shots = tuple(film_shots(*taught, _SMALL))
    return roll_film(shots, _SMALL), shots


@dataclass(frozen=True)
class _Told:
    """What a player is told of a file, and every frame of it."""

    about: str
    frames: NDArray[np.uint8]

    @property
    def seconds(self) -> float:
        found = re.search(r"Duration: (\d+):(\d+):([\d.]+)", self.about)
        assert found is not None
        return 3600.0 * int(found[1]) + 60.0 * int(found[2]) + float(found[3])


def _decoded(data: bytes, path: Path, size: tuple[int, int]) -> _Told:
    """Decode every frame with a program that had no hand in writing it."""
    path.write_bytes(data)
    player = imageio_ffmpeg.get_ffmpeg_exe()
    about = subprocess.run([player, "-i", path], capture_output=True, text=True, check=False)
    way_out = ("-fps_mode", "passthrough", "-f", "rawvideo", "-pix_fmt", "rgb24", "-")
    raw = subprocess.run(
        [player, "-v", "error", "-i", path, *way_out], capture_output=True, check=True
    )
    assert raw.stderr == b""
    frames = np.frombuffer(raw.stdout, dtype=np.uint8).reshape(-1, size[1], size[0], 3)
    return _Told(about=about.stderr, frames=frames)


@pytest.mark.parametrize(
    ("model", "place", "size", "celsius"),
    [
        ("lantern-street", "porch.transition", (1600, 1200), None),
        ("lantern-street", "porch.transition", (640, 480), 3.0),
        ("tide-house", "low-above-steep", (1000, 1500), 3.0),
        ("lantern-street", "sidewall-shingle", (1600, 900), 3.0),
    ],
)
def test_no_text_of_a_step_lies_on_another_or_off_the_sheet(
    model: str, place: str, size: tuple[int, int], celsius: float | None
) -> None:
    for picture in _pictures(model, place, size, celsius):
        texts = picture.texts
        overlaps = [(a, b) for a, b in combinations(texts, 2) if a.overlaps(b)]
        assert not overlaps, picture.step.number
        for box in texts:
            assert all(0 <= x <= size[0] and 0 <= y <= size[1] for x, y in box.corners)


def test_every_step_is_seen_from_the_same_place_and_has_its_number() -> None:
    pictures = _pictures("lantern-street", "porch.transition", (1600, 1200))
    assert len({id(picture.stage.camera) for picture in pictures}) == 1
    assert [p.marker.number for p in pictures if p.marker] == list(range(1, len(pictures) + 1))


def test_the_number_points_at_its_own_layer() -> None:
    for picture in _pictures("lantern-street", "porch.transition", (1600, 1200)):
        assert picture.marker is not None
        x, y = picture.marker.anchor
        number = int(picture.raster.ids[int(y), int(x)])
        assert picture.stage.detail.pieces[number - 1].layer == picture.step.layer


def test_lengths_in_a_picture_are_those_of_its_step() -> None:
    drawn = 0
    for picture in _pictures("lantern-street", "porch.transition", (1600, 1200)):
        told = {fact.text for fact in picture.step.measures}
        assert {dimension.text for dimension in picture.dimensions} <= told
        drawn += len(picture.dimensions)
    assert drawn >= 6


def test_only_what_is_laid_is_drawn_and_what_is_old_is_faded() -> None:
    pictures = _pictures("lantern-street", "porch.transition", (640, 480))
    for before, after in pairwise(pictures):
        layers = {after.stage.detail.pieces[k - 1].layer for k in np.unique(after.raster.ids) if k}
        assert max(layers) == after.step.layer
        same = (before.raster.ids == after.raster.ids) & (before.raster.ids > 0)
        new = [
            k
            for k, piece in enumerate(before.stage.detail.pieces, start=1)
            if piece.layer == before.step.layer
        ]
        seen = same & np.isin(before.raster.ids, new)
        if np.count_nonzero(seen) < 500:
            continue
        # Farther from full colour, nearer to the white paper.
        assert after.raster.colour[seen].mean() > before.raster.colour[seen].mean() + 8.0


def test_a_step_that_waits_for_a_warmer_day_says_so_in_its_own_colour() -> None:
    pictures = _pictures("lantern-street", "sidewall-shingle", (1600, 900), 3.0)
    stopped = [picture.step.material for picture in pictures if picture.step.stop]
    assert "laminated-shingle" in stopped
    picture = next(p for p in pictures if p.step.stop)
    pixels = _opened(ink_step(picture))
    wanted = np.rint(255.0 * np.array(WARN)).astype(np.uint8)
    assert (pixels == wanted).all(axis=-1).any()


def test_a_wrong_build_shows_where_the_water_gets_in_and_what_lies_by_then() -> None:
    project, detail, _ = _taught("lantern-street", "porch.transition")
    wrong = build_detail(project, detail.id, mistake="barrier-under")
    others = detail_mistakes(project, detail.id)
    lesson = build_lesson(project, detail, wrong=wrong.mistake, others=others)
    assert lesson.wrong is not None
    picture = set_wrong(project, wrong, lesson, lesson.wrong, (800, 600))
    assert picture.fault is not None
    x, y = picture.fault
    number = int(picture.raster.ids[int(y), int(x)])
    assert wrong.pieces[number - 1].material in {"granule-cap", "ice-barrier"}
    seen = {wrong.pieces[k - 1].material for k in np.unique(picture.raster.ids) if k}
    assert {"granule-cap", "ice-barrier"} <= seen
    assert "laminated-shingle" not in seen  # laid later
    assert picture.open_way
    assert picture.hidden_way
    assert not [pair for pair in combinations(picture.words, 2) if pair[0].overlaps(pair[1])]
    pixels = _opened(ink_wrong(picture))
    stream = np.rint(255.0 * np.array(STREAM)).astype(np.uint8)
    assert np.count_nonzero((pixels == stream).all(axis=-1)) > 50


def test_words_can_be_read_on_what_they_stand_on() -> None:
    """WCAG 2.1, 1.4.3: 4.5 to 1 for text."""
    pairs = [
        (NOW, LIGHT.paper),
        (NOW, LIGHT.panel),
        (WARN, LIGHT.panel),
        (WARN, LIGHT.paper),
        (STREAM, LIGHT.panel),
        (LIGHT.ink, DONE),
        (LIGHT.ink, TO_COME),
        (LIGHT.note, LIGHT.paper),
    ]
    assert all(_contrast(*pair) >= 4.5 for pair in pairs)


def test_the_sheet_of_all_steps_has_a_cell_for_each_and_no_text_on_another() -> None:
    lesson = _taught("lantern-street", "porch.transition")[2]
    for size in ((1600, 1200), (640, 480), (1000, 1500)):
        cells = contact_cells(len(lesson.steps), size, 1.4)
        assert len(cells) == len(lesson.steps)
        boxes = write_contact(None, lesson, cells, size)
        assert not [pair for pair in combinations(boxes, 2) if pair[0].overlaps(pair[1])]
    figures = [
        ink_figure(picture, lengths=False)
        for picture in _pictures("lantern-street", "porch.transition", (640, 480))
    ]
    assert _opened(draw_contact(lesson, figures, (800, 600))).shape == (600, 800, 3)


def test_a_long_size_is_not_cut_off_on_the_sheet_of_all_steps(
    monkeypatch: pytest.MonkeyPatch,
) -> None:
    lesson = _taught("plum-corner", "chimney")[2]
    written: list[str] = []

    def noted(
        _sheet: None, _at: object, lines: tuple[str, ...], *_: object, **__: object
    ) -> tuple[()]:
        written.extend(lines)
        return ()

    monkeypatch.setattr(contact, "write_lines", noted)
    size = (1600, 1200)
    contact.write_contact(None, lesson, contact_cells(len(lesson.steps), size, 1.4), size)
    assert "round the corners" in " ".join(written)
    assert not [line for line in written if line.endswith("\u2026")]


def test_every_part_comes_down_once_and_in_the_order_of_work() -> None:
    for model, place in (("lantern-street", "sidewall-shingle"), ("plum-corner", "chimney")):
        _, detail, lesson = _taught(model, place)
        moves = plan_moves(detail, lesson)
        parts = [part for move in moves for group in move.groups for part in group]
        assert sorted(parts) == list(range(1, len(detail.pieces) + 1))
        woven = [move for move in moves if len(move.steps) > 1]
        assert woven
        assert all(
            [p for g in move.groups for p in g] == sorted(p for g in move.groups for p in g)
            for move in moves
        )


def test_no_text_of_a_frame_lies_on_another() -> None:
    for model, place, celsius in (
        ("lantern-street", "sidewall-shingle", 3.0),
        ("lantern-street", "eave-shingle", None),
    ):
        _, detail, lesson = _taught(model, place, celsius)
        plan = plan_film((1280, 720))
        for move in plan_moves(detail, lesson):
            boxes = write_frame(None, lesson, caption_of(lesson, move.steps), plan)
            assert not [pair for pair in combinations(boxes, 2) if pair[0].overlaps(pair[1])]
            assert all(0 <= x <= 1280 and 0 <= y <= 720 for b in boxes for x, y in b.corners)


def test_a_frame_says_how_a_layer_is_held_on_that_day() -> None:
    for celsius, material, words in (
        (3.0, "granule-cap", "welded with hot air (at 37.4 F); no nails"),
        (-4.0, "granule-cap", "not laid at 24.8 F"),
        (None, "granule-cap", "its own adhesive"),
    ):
        lesson = _taught("lantern-street", "porch.transition", celsius)[2]
        step = next(step for step in lesson.steps if step.material == material)
        caption = caption_of(lesson, (step,))
        assert dict(caption.lines)["Held by"].startswith(words)
        assert ("Not at 24.8 F" in dict(caption.lines)) == (celsius == -4.0)


def test_the_film_plays_and_shows_each_layer_where_it_comes_to_rest(tmp_path: Path) -> None:
    film, shots = _film()
    told = _decoded(film.mp4, tmp_path / "build.mp4", _SMALL)
    assert len(told.frames) == film.frames == sum(shot.count for shot in shots)
    assert re.search(r"Video: h264 .*yuv420p.*, 640x360.*, 25 fps", told.about)
    assert told.seconds == pytest.approx(film.frames / FRAMES_A_SECOND, abs=0.05)
    # The index stands in front, so that it plays while it is still being fetched.
    assert film.mp4.index(b"moov") < film.mp4.index(b"mdat")
    assert np.abs(told.frames[0].astype(int) - told.frames[-1]).mean() > 3.0
    starts = np.cumsum([0, *(shot.count for shot in shots)])
    stills = [
        (int(start), shot.frame)
        for start, shot in zip(starts, shots, strict=False)
        if shot.count > 1
    ]
    _, _, lesson = _taught("lantern-street", "eave-shingle")
    assert len(stills) == len(lesson.steps) + 2
    for start, drawn in stills:
        assert np.abs(told.frames[start + 5].astype(int) - drawn).mean() < 3.0
    for (_, one), (_, two) in pairwise(stills):
        assert np.abs(one.astype(int) - two).mean() > 0.5


def test_nothing_in_the_film_flashes() -> None:
    """No frame of a layer on its way is far from the one before it."""
    _, shots = _film()
    for before, after in pairwise(shots):
        if before.count == 1 and after.count == 1:
            step = after.frame.mean(dtype=np.float64) - before.frame.mean(dtype=np.float64)
            assert abs(step) < 8.0


def test_each_finished_layer_is_shown_long_enough_to_be_read() -> None:
    _, detail, lesson = _taught("lantern-street", "eave-shingle")
    _, shots = _film()
    stills = [shot.count / FRAMES_A_SECOND for shot in shots if shot.count > 1]
    for move, seconds in zip(plan_moves(detail, lesson), stills[1:], strict=False):
        words = len(caption_of(lesson, move.steps).words.split())
        assert seconds == pytest.approx(
            reading_seconds(caption_of(lesson, move.steps).words), abs=0.05
        )
        assert seconds >= 3.0
        assert words / seconds < 4.0


def test_the_loop_plays_as_long_as_the_film_and_stays_small(tmp_path: Path) -> None:
    film, _ = _film()
    told = _decoded(film.gif, tmp_path / "build.gif", LOOP_SIZE)
    assert "854x480" in told.about
    assert told.seconds == pytest.approx(film.frames / FRAMES_A_SECOND, abs=0.5)
    assert np.abs(told.frames[0].astype(int) - told.frames[-1]).mean() > 3.0
    assert len(film.gif) < 4_000_000
    assert b"NETSCAPE2.0\x03\x01\x00\x00" in film.gif  # for ever


def test_the_same_frames_give_the_same_bytes() -> None:
    _, shots = _film()
    files = []
    for _ in range(2):
        tape = Tape(_SMALL)
        for shot in shots[:20]:
            tape.add(shot)
        files.append(tape.close())
    assert files[0] == files[1]


def _opened(png: bytes) -> NDArray[np.uint8]:
    from PIL import Image

    return np.asarray(Image.open(io.BytesIO(png)).convert("RGB"))


def _contrast(one: Colour, two: Colour) -> float:
    low, high = sorted(_luminance(colour) for colour in (one, two))
    return (high + 0.05) / (low + 0.05)


def _luminance(colour: Colour) -> float:
    parts = [c / 12.92 if c <= 0.03928 else ((c + 0.055) / 1.055) ** 2.4 for c in colour]
    return 0.2126 * parts[0] + 0.7152 * parts[1] + 0.0722 * parts[2]


def test_what_stands_in_front_of_a_step_is_seen_through() -> None:
    """The cricket lies behind its chimney, which is drawn by its edges alone there."""
    pictures = {
        picture.step.layer: picture for picture in _pictures("plum-corner", "chimney", _SMALL)
    }
    names = {layer.name: layer.number for layer in _taught("plum-corner", "chimney")[1].layers}
    cricket, pan = (pictures[names[name]] for name in ("Cricket", "Back pan"))
    stack = next(number for number in cricket.stage.numbers({1}) if _stands(cricket, number))
    new = cricket.stage.numbers({cricket.step.layer})
    assert np.isin(cricket.raster.ids, new).mean() > 0.005
    assert stack not in cricket.raster.ids
    assert stack in pan.raster.ids


def _stands(picture: StepPicture, number: int) -> bool:
    return picture.stage.detail.pieces[number - 1].kind is PieceKind.WALL
