"""Measure roofs that are steep in one part and nearly flat in another, and draw their joints.

``load`` reads a model file and ``build`` finds its planes, edges and assemblies. Both are
imported when first asked for, so that ``import roof3d`` costs next to nothing.

Examples
--------
>>> import roof3d
>>> sorted(name for name in dir(roof3d) if not name.startswith("_"))
['build', 'load']
"""

from __future__ import annotations

from typing import TYPE_CHECKING, Any

if TYPE_CHECKING:
    from roof3d.project import build as build
    from roof3d.spec.read import load_spec as load

__version__ = "0.1.0"
__all__ = ["build", "load"]


def __getattr__(name: str) -> Any:
    if name == "load":
        from roof3d.spec.read import load_spec  # noqa: PLC0415 - see the module's docstring

        return load_spec
    if name == "build":
        from roof3d.project import build as build_project  # noqa: PLC0415 - the same

        return build_project
    raise AttributeError(f"module 'roof3d' has no attribute {name!r}")


def __dir__() -> list[str]:
    return [*__all__, "__version__"]
