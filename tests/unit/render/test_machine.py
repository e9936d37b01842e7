"""A machine that cannot draw says so, once and clearly."""

from __future__ import annotations

import pytest

from roof3d.errors import RoofError
from roof3d.render import machine


@pytest.fixture(autouse=True)
def fresh(monkeypatch: pytest.MonkeyPatch) -> None:
    machine.require_graphics.cache_clear()
    monkeypatch.delenv("DISPLAY", raising=False)


@pytest.mark.parametrize(
    "trial", ["raise SystemExit(1)", "import os, signal; os.kill(os.getpid(), signal.SIGSEGV)"]
)
def test_a_trial_that_fails_or_crashes_names_the_packages(
    monkeypatch: pytest.MonkeyPatch, trial: str
) -> None:
    monkeypatch.setattr(machine, "_TRIAL", trial)
    with pytest.raises(RoofError, match="libegl1 libgl1-mesa-dri") as caught:
        machine.require_graphics()
    assert caught.value.code == "R3D-GRAPHICS"
    machine.require_graphics.cache_clear()


def test_without_a_screen_the_window_that_needs_none_is_chosen(
    monkeypatch: pytest.MonkeyPatch,
) -> None:
    import os

    monkeypatch.setenv(machine.WINDOW, "")
    monkeypatch.delenv(machine.WINDOW)
    monkeypatch.setattr(machine, "_TRIAL", "")
    machine.require_graphics()
    assert os.environ[machine.WINDOW] == "vtkEGLRenderWindow"
    machine.require_graphics.cache_clear()


def test_a_choice_made_before_is_kept(monkeypatch: pytest.MonkeyPatch) -> None:
    import os

    monkeypatch.setenv(machine.WINDOW, "vtkOSOpenGLRenderWindow")
    monkeypatch.setattr(machine, "_TRIAL", "")
    machine.require_graphics()
    assert os.environ[machine.WINDOW] == "vtkOSOpenGLRenderWindow"
    machine.require_graphics.cache_clear()
