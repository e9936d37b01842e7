"""A machine that cannot draw says so, once and clearly."""

from __future__ import annotations

import sys
import time
from collections.abc import Iterator

import pytest

from roof3d.errors import RoofError
from roof3d.render import machine


@pytest.fixture(autouse=True)
def fresh(monkeypatch: pytest.MonkeyPatch) -> Iterator[None]:
    def forget() -> None:
        machine.require_graphics.cache_clear()
        machine.begin_trial.cache_clear()

    forget()
    monkeypatch.delenv("DISPLAY", raising=False)
    yield
    forget()


@pytest.mark.parametrize(
    "trial", ["raise SystemExit(1)", "import os, signal; os.kill(os.getpid(), signal.SIGSEGV)"]
)
def test_a_trial_that_fails_or_crashes_names_the_packages(
    monkeypatch: pytest.MonkeyPatch, trial: str
) -> None:
    monkeypatch.setattr(machine, "_TRIAL", trial)
    with pytest.raises(RoofError, match="libegl1 libgl1 libgl1-mesa-dri") as caught:
        machine.require_graphics()
    assert caught.value.code == "R3D-GRAPHICS"


def test_without_a_screen_the_window_that_needs_none_is_chosen(
    monkeypatch: pytest.MonkeyPatch,
) -> None:
    import os

    monkeypatch.setenv(machine.WINDOW, "")
    monkeypatch.delenv(machine.WINDOW)
    monkeypatch.setattr(machine, "_TRIAL", "")
    machine.require_graphics()
    assert os.environ[machine.WINDOW] == "vtkEGLRenderWindow"


def test_a_choice_made_before_is_kept(monkeypatch: pytest.MonkeyPatch) -> None:
    import os

    monkeypatch.setenv(machine.WINDOW, "vtkOSOpenGLRenderWindow")
    monkeypatch.setattr(machine, "_TRIAL", "")
    machine.require_graphics()
    assert os.environ[machine.WINDOW] == "vtkOSOpenGLRenderWindow"


def test_a_trial_begun_before_is_the_one_that_is_asked(monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr(machine, "_TRIAL", "")
    trial = machine.begin_trial()
    assert trial is not None
    monkeypatch.setattr(machine, "_TRIAL", "raise SystemExit(1)")
    machine.require_graphics()
    assert trial.returncode == 0


def test_to_begin_a_trial_does_not_wait_for_it(monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr(machine, "_TRIAL", "import time; time.sleep(30.0)")
    start = time.perf_counter()
    trial = machine.begin_trial()
    assert trial is not None
    assert time.perf_counter() - start < 15.0
    trial.kill()
    with pytest.raises(RoofError, match="cannot draw pictures"):
        machine.require_graphics()


def test_a_machine_that_starts_no_process_cannot_draw(monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr(sys, "executable", "/nowhere/python")
    with pytest.raises(RoofError, match="cannot draw pictures"):
        machine.require_graphics()
