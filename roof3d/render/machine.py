"""Look whether this machine can draw before anything is drawn: a crash cannot be caught."""

from __future__ import annotations

import os
import subprocess
import sys
from functools import cache

from roof3d.errors import RoofError

WINDOW = "VTK_DEFAULT_OPENGL_WINDOW"
_TRIAL = """
import vtkmodules.vtkRenderingOpenGL2
from vtkmodules.vtkRenderingCore import vtkRenderer, vtkRenderWindow
window = vtkRenderWindow()
window.SetOffScreenRendering(1)
window.SetSize(8, 8)
window.AddRenderer(vtkRenderer())
window.Render()
"""


@cache
def require_graphics() -> None:
    """Make sure that a picture can be drawn here, or say what is missing.

    Picks the window class that needs no display where there is none, then draws a tiny
    picture in a child process. Looked at once a process.

    Raises
    ------
    RoofError
        Code ``R3D-GRAPHICS``, where the trial fails: the system has no OpenGL that works
        without a screen.

    Notes
    -----
    The trial costs about half a second, less for who began it before. It is a child process
    because a missing OpenGL library ends the process that meets it, past any exception.
    """
    if not _trial_succeeds():
        raise RoofError(
            "this machine cannot draw pictures: no OpenGL library was found that works "
            "without a screen",
            hint="on Debian or Ubuntu: apt-get install --no-install-recommends "
            "libegl1 libgl1 libgl1-mesa-dri; commands that draw nothing work without them",
            code="R3D-GRAPHICS",
        )


@cache
def begin_trial() -> subprocess.Popen[bytes] | None:
    """Begin to draw the tiny picture of ``require_graphics``, to do other work meanwhile.

    Returns
    -------
    Popen or None
        None where no process can be started.
    """
    choose_window()
    try:
        return subprocess.Popen(  # noqa: S603 - our own interpreter, fixed text
            [sys.executable, "-c", _TRIAL], stdout=subprocess.DEVNULL, stderr=subprocess.DEVNULL
        )
    except OSError:
        return None


def choose_window() -> None:
    """Pick the window class that needs no screen where there is none, unless one is chosen."""
    if not os.environ.get("DISPLAY") and sys.platform.startswith("linux"):
        os.environ.setdefault(WINDOW, "vtkEGLRenderWindow")


def _trial_succeeds() -> bool:
    trial = begin_trial()
    if trial is None:
        return False
    try:
        return trial.wait(timeout=60.0) == 0
    except subprocess.TimeoutExpired:
        trial.kill()
        trial.wait()
        return False
